using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Strip;

namespace School.Web.Modules.Diary;

/// <summary>The instructor's day on the road.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class DayModel(DayReader reader, PupilNotesReader pupilNotes, Viewer viewer, SchoolInfo school, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public LocalDate? Date { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    public DayView Day { get; private set; } = null!;

    public RoadStrip Strip { get; private set; } = null!;

    public IReadOnlyList<(string Heading, string Sentence)> Troubles { get; private set; } = [];

    public Pager Pager { get; private set; } = null!;

    /// <summary>Whose day it is, where that is not plain.</summary>
    public string? Whose { get; private set; }

    public string CarsInWords { get; private set; } = "";

    public string? RecordedWords { get; private set; }

    public string Query { get; private set; } = "";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (InstructorId is null && viewer.InstructorId is null)
        {
            return Redirect("/diary/board");
        }

        if (await reader.WhoseAsync(InstructorId, cancel) is not { } instructor)
        {
            return NotFound();
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        var date = ScreenTimes.DateOr(Date, today);
        Day = (await reader.DaysAsync(instructor.Id, date, date, cancel))[0];
        var strip = new DayStrip(Day, await pupilNotes.ReadAsync(Day.Lessons, cancel));
        (Strip, Troubles) = (strip.Draw(), [.. strip.Troubles()]);
        var own = viewer.InstructorId == instructor.Id;
        Whose = own ? null : instructor.Name;
        Query = own ? "" : $"&instructorId={instructor.Id}";
        Pager = ScreenTimes.Days(date, today, day => $"/diary/day?date={day:uuuu-MM-dd}{Query}");
        CarsInWords = string.Join("; ", Day.Lessons.Select(l => l.CarId).Distinct().Where(Day.Context.Cars.ContainsKey).Select(id => CarWords.Of(Day.Context.Cars[id])));
        RecordedWords = Recorded(Day.Lessons);
        return Page();
    }

    private static string? Recorded(IReadOnlyList<Lesson> lessons)
    {
        var (taught, missed) = (lessons.Count(l => l.State is LessonState.Taught), lessons.Count(l => l.State is LessonState.Missed));
        return taught + missed == 0 ? null : $"{taught} taught" + (missed > 0 ? $", {missed} missed" : "");
    }
}
