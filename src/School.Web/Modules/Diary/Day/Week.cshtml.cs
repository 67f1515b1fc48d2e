using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Day;

/// <summary>Monday to Sunday of one instructor.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class WeekModel(DayReader reader, Viewer viewer, SchoolInfo school, IClock clock) : PageModel
{
    private const int DaysOfWeek = 7;

    [BindProperty(SupportsGet = true)]
    public LocalDate? Date { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    public IReadOnlyList<DaySheet> Days { get; private set; } = [];

    public IReadOnlyList<BoardLane> Lanes { get; private set; } = [];

    public Pager Pager { get; private set; } = null!;

    public string? Whose { get; private set; }

    public string Heading { get; private set; } = "";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (InstructorId is null && viewer.InstructorId is null)
        {
            return Redirect("/diary/board");
        }

        if (await reader.WhoseDayAsync(InstructorId, cancel) is not { } instructor)
        {
            return NotFound();
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        var date = ModelState.ReadDate(Date, today);
        var monday = date.PlusDays(1 - (int)date.DayOfWeek);
        Days = await reader.DaysAsync(instructor.Id, monday, monday.PlusDays(DaysOfWeek - 1), cancel);
        var whose = viewer.InstructorId == instructor.Id ? "" : $"&instructorId={instructor.Id}";
        Whose = whose.Length == 0 ? null : instructor.Name;
        Lanes = [.. Days.Select(day => BoardView.Lane(day, ScreenWords.ShortDay(day.Date), $"/diary/day?date={day.Date:uuuu-MM-dd}{whose}"))];
        Heading = $"{ScreenWords.Day(monday)} to {ScreenWords.Day(monday.PlusDays(DaysOfWeek - 1))}";
        string Week(LocalDate day) => $"/diary/week?date={day:uuuu-MM-dd}{whose}";
        Pager = new(
            "Week", new(Week(monday.PlusDays(-DaysOfWeek)), "Week before"),
            today >= monday && today < monday.PlusDays(DaysOfWeek) ? null : new(Week(today), "This week"),
            new(Week(monday.PlusDays(DaysOfWeek)), "Week after"));
        return Page();
    }
}
