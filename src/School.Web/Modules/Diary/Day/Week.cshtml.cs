using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Day;

/// <summary>Monday to Sunday of one instructor.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class WeekModel(LivePages live, DayReader reader, Viewer viewer, SchoolInfo school, IClock clock) : PageModel
{
    private const int DaysOfWeek = 7;

    [BindProperty(SupportsGet = true)]
    public LocalDate? Date { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    public IReadOnlyList<DaySheet> Days { get; private set; } = [];

    public TimeDrawing Drawing { get; private set; } = null!;

    /// <summary>"list" for the list.</summary>
    [BindProperty(SupportsGet = true)]
    public string? View { get; set; }

    public bool AsList => View == "list";

    /// <summary>The same week as a list, or as a picture again.</summary>
    public string Other { get; private set; } = "";

    public DatePager Pager { get; private set; } = null!;

    public IReadOnlyList<TimeRange> Ranges { get; private set; } = [];

    public LivePage Live { get; private set; } = null!;

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

        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var date = ModelState.ReadDate(Date, today);
        var monday = date.PlusDays(1 - (int)date.DayOfWeek);
        Live = live.Of("the week", facts.Zone, monday, monday.PlusDays(DaysOfWeek - 1), instructor.Id);
        Days = await reader.DaysAsync(instructor.Id, monday, monday.PlusDays(DaysOfWeek - 1), cancel);
        var whose = viewer.InstructorId == instructor.Id ? "" : $"&instructorId={instructor.Id}";
        Whose = whose.Length == 0 ? null : instructor.Name;
        Drawing = BoardView.Draw(
            "The week in order", "Day", Days, day => ScreenWords.ShortDay(day.Date) + (day.Date == today ? " today" : ""), day => $"/diary/day?date={day.Date:uuuu-MM-dd}{whose}", withCars: false);
        Heading = $"{ScreenWords.Day(monday)} to {ScreenWords.Day(monday.PlusDays(DaysOfWeek - 1))}";
        var list = AsList ? "&view=list" : "";
        Other = $"/diary/week?date={monday:uuuu-MM-dd}{whose}{(AsList ? "" : "&view=list")}";
        Ranges = DiaryRanges.OfInstructor(viewer, monday, today, whose);
        Pager = new(
            "/diary/week", monday, "Week", today >= monday && today < monday.PlusDays(DaysOfWeek) ? null : today,
            day => new($"/diary/week?date={day:uuuu-MM-dd}{whose}{list}", day > monday ? "Week after" : "Week before"), DaysOfWeek,
            [.. whose.Length == 0 ? [] : new[] { ("instructorId", instructor.Id.ToString()) }, .. AsList ? new[] { ("view", "list") } : []]);
        return Page();
    }
}
