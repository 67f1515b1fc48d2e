using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Covers;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Enters time off, or changes it: whole days, or from a time to a time.</summary>
[Needs(Permission.ChangeHours), ShowsWhatStands]
internal sealed class TimeOffModel(SchoolDb db, DayReader reader, AddTimeOff add, ChangeTimeOff change, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    /// <summary>What is changed; null when it is entered.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Id { get; set; }

    /// <summary>The version that was looked at.</summary>
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public OffInput Input { get; set; } = new();

    public InstructorCard Instructor { get; private set; } = null!;

    public string Back => viewer.InstructorId == Instructor.Id ? "/diary/hours" : $"/diary/hours?instructorId={Instructor.Id}";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        if (Id is null)
        {
            return Page();
        }

        var now = clock.GetCurrentInstant();
        if (await db.Set<TimeOffRow>().AsNoTracking().SingleOrDefaultAsync(o => o.Id == Id && o.InstructorId == Instructor.Id && o.EndsAt > now, cancel) is not { } row)
        {
            return NotFound();
        }

        (Input, Version) = (OffInput.Of(row, (await school.GetAsync(cancel)).Zone), row.Version);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        var (first, last) = (Input.FirstDay!.Value, Input.LastDay ?? Input.FirstDay.Value);
        var errors = new FieldErrors().When(last < first, nameof(Input.LastDay), "The last day must not be before the first.")
            .When(Tangled(first, last), nameof(Input.UntilTime), "The end must be after the start.")
            .When(first.Year > 3000, nameof(Input.FirstDay), "Look at the year.").When(last.Year > 3000, nameof(Input.LastDay), "Look at the year.");
        if (!errors.Any)
        {
            var start = Input.FromTime is { } from ? errors.ReadStart(nameof(Input.FromTime), first + from, zone) : zone.AtStartOfDay(first).ToInstant();
            var end = Input.UntilTime is { } until ? errors.ReadEnd(nameof(Input.UntilTime), last + until, zone) : zone.AtStartOfDay(last.PlusDays(1)).ToInstant();
            if (!errors.Any)
            {
                var request = new TimeOffRequest(start, end, Input.Reason);
                var outcome = Id is { } id
                    ? await change.RunAsync(viewer, Instructor.Id, id, request, Version, cancel)
                    : await add.RunAsync(viewer, Instructor.Id, request, cancel);
                if (outcome.Ok)
                {
                    var (done, affected) = (Id is null ? "Time off added." : "Time off changed.", outcome.Value.Affected.Count);
                    TempData["Done"] = affected == 0 ? $"{done} No booked lessons in it." : $"{done} {Words.Count(affected, "booked lesson")} in it: see the list.";
                    var row = outcome.Value.Row;
                    return LocalRedirect(affected > 0 && viewer.May(Permission.ArrangeCover) ? CoverLink.ForInstructor(Instructor.Id, new(row.StartsAt, row.EndsAt), row.Reason) : Back);
                }

                if (outcome.Refusal.Kind == RefusalKind.NotFound)
                {
                    return NotFound();
                }

                AddToForm(outcome.Refusal);
                return Page();
            }
        }

        AddToForm(errors.ToRefusal()!);
        return Page();
    }

    private bool Tangled(LocalDate first, LocalDate last) =>
        first == last && Input.FromTime is { } from && Input.UntilTime is { } until && until <= from;

    private void AddToForm(Refusal refusal)
    {
        // The verb speaks of start and end; the form has a day and a time for each.
        var end = Input.LastDay is null ? nameof(Input.FirstDay) : nameof(Input.LastDay);
        var fields = refusal.Fields.ToDictionary(f => f.Key switch { "Start" => nameof(Input.FirstDay), "End" => end, _ => f.Key }, f => f.Value);
        this.AddRefusal(refusal with { Fields = fields }, fields.Count > 0 ? nameof(Input) : "");
    }

    private async Task<bool> LoadAsync(CancellationToken cancel)
    {
        if (await reader.WhoseAsync(InstructorId, cancel) is not { } instructor)
        {
            return false;
        }

        Instructor = instructor;
        return true;
    }

    internal sealed class OffInput
    {
        [Required(ErrorMessage = "Enter the first day.")]
        public LocalDate? FirstDay { get; set; }

        public LocalTime? FromTime { get; set; }

        public LocalDate? LastDay { get; set; }

        public LocalTime? UntilTime { get; set; }

        public string? Reason { get; set; }

        /// <summary>Whole days are told without times, as they are typed.</summary>
        public static OffInput Of(TimeOffRow row, DateTimeZone zone)
        {
            var (start, end) = (row.StartsAt.InZone(zone), row.EndsAt.InZone(zone));
            var (fromDayStart, toDayStart) = (row.StartsAt == zone.AtStartOfDay(start.Date).ToInstant(), row.EndsAt == zone.AtStartOfDay(end.Date).ToInstant());
            return new()
            {
                FirstDay = start.Date,
                FromTime = fromDayStart ? null : start.TimeOfDay,
                LastDay = toDayStart ? end.Date.PlusDays(-1) : end.Date,
                UntilTime = toDayStart ? null : end.TimeOfDay,
                Reason = row.Reason,
            };
        }
    }
}
