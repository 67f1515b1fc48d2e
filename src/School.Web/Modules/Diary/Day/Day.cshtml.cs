using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Diary.Order;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Strip;

namespace School.Web.Modules.Diary.Day;

/// <summary>The instructor's day on the road.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class DayModel(
    LivePages live, DayReader reader, PupilNotesReader pupilNotes, DriveTaps taps, TravelModel travel, Viewer viewer, SchoolInfo school, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public LocalDate? Date { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    public DaySheet Day { get; private set; } = null!;

    public RoadStrip Strip { get; private set; } = null!;

    /// <summary>What is over and recorded today, folded away.</summary>
    public RoadStrip? Past { get; private set; }

    /// <summary>The next stop, once it is past the time to leave for it, and how late it is.</summary>
    public LateStop? Overdue { get; private set; }

    public IReadOnlyList<(string Heading, string Sentence)> Troubles { get; private set; } = [];

    public (GlanceStop? Now, GlanceStop? Next, Instant? LeaveBy) Glance { get; private set; }

    public DriveCard? Drive { get; private set; }

    /// <summary>The drive that is under way, whosever day it is.</summary>
    public LastDrive? UnderWay { get; private set; }

    public TravelStatus Travel { get; private set; } = null!;

    public Pager Pager { get; private set; } = null!;

    public LivePage Live { get; private set; } = null!;

    /// <summary>Whose day it is, where that is not plain.</summary>
    public string? Whose { get; private set; }

    /// <summary>"4 lessons, 6½ hours, 31 miles. 1 taught. Car: silver hatch, manual."</summary>
    public string Summary { get; private set; } = "";

    public string Query { get; private set; } = "";

    /// <summary>Booked lessons that have not begun: with one of them today, running late can be told; with two, an order be sought.</summary>
    public int Ahead { get; private set; }

    public bool IsToday { get; private set; }

    /// <summary>What is kept on the phone for working without signal: only today's and tomorrow's pages.</summary>
    public KeptDay? Kept { get; private set; }

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
        Live = live.Of("the day", facts.Zone, date, date, instructor.Id);
        Day = (await reader.DaysAsync(instructor.Id, date, date, cancel))[0];
        var strip = new DayStrip(Day, await pupilNotes.ReadAsync(Day.Lessons, cancel));
        (Strip, Troubles, Glance) = (strip.Draw(), [.. strip.Troubles()], strip.Glance());
        if (strip.Past > 0)
        {
            (Past, Strip) = Strip.CutAt(strip.Past, "Earlier today, in order");
        }

        var last = await taps.LastAsync(Day, cancel);
        (Drive, UnderWay, Travel) = (taps.Offer(Day, last), DriveTaps.UnderWay(Day, last), await travel.StatusAsync(cancel));
        Overdue = date == today ? Day.Overdue(last) : null;
        if (Travel.Warning(Day.Context.School) is { } warning)
        {
            Troubles = [.. Troubles, ("The routing server does not answer.", warning)];
        }

        var own = viewer.InstructorId == instructor.Id;
        Whose = own ? null : instructor.Name;
        Query = own ? "" : $"&instructorId={instructor.Id}";
        Pager = ScreenTimes.Days(date, today, day => $"/diary/day?date={day:uuuu-MM-dd}{Query}");
        Summary = SummaryOf(Day);
        Ahead = Day.Lessons.Count(l => l.State is LessonState.Booked && l.StartsAt > Day.Context.Now);
        IsToday = date == today;
        Kept = date == today || date == today.PlusDays(1) ? KeptDay.Of(Day, Query) : null;
        return Page();
    }

    /// <summary>"Earlier today: 2 lessons".</summary>
    public string PastWords => $"Earlier today: {Words.Count(Past!.Parts.OfType<RoadStop>().Count(), "stop")}";

    /// <summary>How many minutes late may be told by one tap: those that are due, and round ones.</summary>
    public IEnumerable<int> LateMinutes => Overdue is { LateMinutes: > 0 and <= TellLate.MostMinutes and var due } ? [due, .. RunningLateModel.Taps.Where(m => m > due)] : RunningLateModel.Taps;

    private static string SummaryOf(DaySheet day)
    {
        var count = day.Lessons.Count;
        var (taught, missed) = (day.Lessons.Count(l => l.State is LessonState.Taught), day.Missed);
        var cars = day.Lessons.Select(l => l.CarId).Concat(day.Tests.Select(t => t.CarId ?? Guid.Empty)).Distinct()
            .Where(day.Context.Cars.ContainsKey).Select(id => CarWords.Of(day.Context.Cars[id])).ToList();
        var sentences = new[]
        {
            $"{Words.Count(count, "lesson")}, {ScreenWords.Length(day.BookedMinutes)}, {Words.Count((int)Math.Round(day.Route.Miles), "mile")}.",
            day.Tests.Count == 0 ? "" : $"{Words.Count(day.Tests.Count, "test day")}.",
            (taught, missed) switch { (0, 0) => "", (_, 0) => $"{taught} taught.", (0, _) => $"{missed} missed.", _ => $"{taught} taught, {missed} missed." },
            cars.Count == 0 ? "" : $"{(cars.Count == 1 ? "Car" : "Cars")}: {string.Join("; ", cars)}.",
        };
        return string.Join(' ', sentences.Where(sentence => sentence.Length > 0));
    }
}
