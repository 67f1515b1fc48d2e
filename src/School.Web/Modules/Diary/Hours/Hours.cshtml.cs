using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Working hours and time off of one instructor, and the booked lessons that do not fit them.</summary>
[Needs(Permission.ChangeHours)]
internal sealed class HoursModel(
    SchoolDb db, DayReader reader, DiaryCheck check, RemoveTimeOff removeTimeOff, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    public InstructorCard? Instructor { get; private set; }

    /// <summary>To choose from, where the office has not said whose.</summary>
    public IReadOnlyList<InstructorCard> Choices { get; private set; } = [];

    public IReadOnlyList<WorkingHoursRow> Hours { get; private set; } = [];

    public IReadOnlyList<TimeOffRow> TimeOff { get; private set; } = [];

    public IReadOnlyList<ImpossibleBooking> Impossible { get; private set; } = [];

    /// <summary>What comes of hours and time off in the weeks ahead; null without hours.</summary>
    public GridDrawing? Weeks { get; private set; }

    public SchoolFacts School { get; private set; } = null!;

    public LocalDate Today { get; private set; }

    public bool Own => viewer.InstructorId == Instructor?.Id;

    public string Query => Own ? "" : $"?instructorId={Instructor?.Id}";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (InstructorId is null && viewer.InstructorId is null)
        {
            Choices = await instructors.ListAsync(alsoRetired: false, cancel);
            return Page();
        }

        if (await reader.WhoseAsync(InstructorId, cancel) is not { } instructor)
        {
            return NotFound();
        }

        (Instructor, School) = (instructor, await school.GetAsync(cancel));
        Today = School.Today(clock);
        var (today, now) = (Today, clock.GetCurrentInstant());
        var rows = await db.Set<WorkingHoursRow>().AsNoTracking().Where(h => h.InstructorId == instructor.Id && (h.To == null || h.To >= today)).ToListAsync(cancel);
        Hours = [.. rows.OrderBy(h => h.Day).ThenBy(h => h.From).ThenBy(h => h.Start)];
        TimeOff = await db.Set<TimeOffRow>().AsNoTracking().Where(o => o.InstructorId == instructor.Id && o.EndsAt > now).OrderBy(o => o.StartsAt).ToListAsync(cancel);
        Weeks = Hours.Count == 0 ? null : HoursView.Draw(School, now, Hours, TimeOff, Own ? "" : $"&instructorId={instructor.Id}");
        Impossible = await check.FindAsync(instructor.Id, cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostRemoveTimeOffAsync(Guid timeOffId, CancellationToken cancel)
    {
        if (await reader.WhoseAsync(InstructorId, cancel) is not { } instructor)
        {
            return NotFound();
        }

        Instructor = instructor;
        var outcome = await removeTimeOff.RunAsync(viewer, instructor.Id, timeOffId, cancel);
        if (outcome.Ok || outcome.Refusal.Kind is RefusalKind.NotFound)
        {
            // Gone already is as good as gone now.
            TempData["Done"] = "Time off removed.";
            return LocalRedirect($"/diary/hours{Query}");
        }

        this.AddRefusal(outcome.Refusal);
        return await OnGetAsync(cancel);
    }

    /// <summary>"from 1 June", "until 31 May", "1 June to 31 August", or nothing for always.</summary>
    public string Dates(WorkingHoursRow row) => (row.From > Today, row.To) switch
    {
        (true, { } to) => $"{ScreenWords.DayAndYear(row.From)} to {ScreenWords.DayAndYear(to)}",
        (true, null) => $"from {ScreenWords.DayAndYear(row.From)}",
        (false, { } to) => $"until {ScreenWords.DayAndYear(to)}",
        _ => "until further notice",
    };

    public string Period(TimeOffRow row) => School.Period(new(row.StartsAt, row.EndsAt));
}
