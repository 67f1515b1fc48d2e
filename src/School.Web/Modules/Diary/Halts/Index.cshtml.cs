using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Covers;
using School.Web.Modules.Diary.Home;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Halts;

/// <summary>Asks what stopping lessons would do, and lists what was asked for lately.</summary>
[Needs(Permission.ChangeHours)]
internal sealed class IndexModel(ProposalReader proposals, PlanHalt plan, InstructorBook instructors, AreaBook areas, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int MostRecent = 10;

    [BindProperty]
    public AskInput Input { get; set; } = new();

    public static IReadOnlyList<SelectListItem> Acts { get; } = [new("Cancel the lessons", nameof(HaltAct.Cancel)), new("Move each to the next time that fits", nameof(HaltAct.Move))];

    public static IReadOnlyList<SelectListItem> Reasons { get; } =
        [.. Enum.GetValues<CancelReason>().Where(reason => reason is not CancelReason.Pupil).OrderBy(reason => reason is not CancelReason.Weather).Select(reason => new SelectListItem(reason.Label(), reason.ToString()))];

    /// <summary>None for an instructor, who stops their own.</summary>
    public IReadOnlyList<SelectListItem> Teachers { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Areas { get; private set; } = [];

    public IReadOnlyList<RecentHalt> Recent { get; private set; } = [];

    public async Task OnGetAsync(Guid? instructorId, string? start, string? end, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var now = clock.GetCurrentInstant().InZone(facts.Zone);
        (Input.Day, Input.Act, Input.Reason) = (now.Date, HaltAct.Cancel, CancelReason.Weather);
        Input.InstructorIds = instructorId is { } id ? [id] : [];
        Input.Everybody = instructorId is null;
        if (CoverLink.Read(start) is { } from && CoverLink.Read(end) is { } until && until > from)
        {
            var (first, last) = (Instant.Max(from, facts.Zone.AtStartOfDay(now.Date).ToInstant()).InZone(facts.Zone), until.InZone(facts.Zone));
            Input.Day = first.Date;
            Input.FromTime = first.TimeOfDay == LocalTime.Midnight ? null : first.TimeOfDay;
            Input.UntilTime = last.Date > first.Date || last.TimeOfDay == LocalTime.Midnight ? null : last.TimeOfDay;
        }

        await ShowAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var zone = (await school.GetAsync(cancel)).Zone;
            var day = Input.Day!.Value;
            var errors = new FieldErrors().WrongYear(nameof(Input.Day), day)
                .When(Input.FromTime is { } a && Input.UntilTime is { } b && b <= a, nameof(Input.UntilTime), "The end must be after the start.")
                .When(viewer.KeepsDiary && Input.Everybody == (Input.InstructorIds.Count > 0), nameof(Input.InstructorIds), "Tick either everybody’s lessons or whose.");
            if (!errors.Any)
            {
                var start = Input.FromTime is { } from ? errors.ReadStart(nameof(Input.FromTime), day + from, zone) : zone.AtStartOfDay(day).ToInstant();
                var end = Input.UntilTime is { } until ? errors.ReadEnd(nameof(Input.UntilTime), day + until, zone) : zone.AtStartOfDay(day.PlusDays(1)).ToInstant();
                if (!errors.Any)
                {
                    var made = await plan.RunAsync(
                        viewer, new(start, end, Input.InstructorIds.Count == 0 ? null : Input.InstructorIds, Input.AreaIds.Count == 0 ? null : Input.AreaIds, Input.Act, Input.Reason), cancel);
                    if (made.Ok)
                    {
                        return Redirect($"/diary/halts/{made.Value.Id}");
                    }

                    if (made.Refusal.Kind is RefusalKind.NotFound)
                    {
                        return NotFound();
                    }

                    AddToForm(made.Refusal);
                }
            }

            if (errors.ToRefusal() is { } wrong)
            {
                AddToForm(wrong);
            }
        }

        await ShowAsync(cancel);
        return Page();
    }

    private void AddToForm(Refusal refusal)
    {
        // The verb speaks of start and end; the form has one day and a time for each.
        var fields = refusal.Fields.ToDictionary(f => f.Key switch { "Start" => nameof(Input.Day), "End" => nameof(Input.UntilTime), _ => f.Key }, f => f.Value);
        this.AddRefusal(refusal with { Fields = fields }, fields.Count > 0 ? nameof(Input) : "");
    }

    private async Task ShowAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        if (viewer.KeepsDiary)
        {
            Teachers = [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Select(i => new SelectListItem(i.Name, i.Id.ToString(), Input.InstructorIds.Contains(i.Id)))];
        }

        Areas = [.. (await areas.ListAsync(cancel)).Select(a => new SelectListItem(a.Name, a.Id.ToString(), Input.AreaIds.Contains(a.Id)))];
        var asked = await proposals.VisibleTo(viewer).Where(p => p.Kind == ProposalKind.Halt).OrderByDescending(p => p.AskedAt).Take(MostRecent).ToListAsync(cancel);
        Recent = [.. asked.Select(p => new RecentHalt(p.Id, facts.Period(HaltRules.AskOf(p).During), HaltRules.AskOf(p).Reason.Label(), p.State))];
    }

    internal sealed class AskInput
    {
        [Required(ErrorMessage = "Enter the day.")]
        public LocalDate? Day { get; set; }

        public LocalTime? FromTime { get; set; }

        public LocalTime? UntilTime { get; set; }

        public bool Everybody { get; set; }

        public List<Guid> InstructorIds { get; set; } = [];

        public List<Guid> AreaIds { get; set; } = [];

        public HaltAct Act { get; set; }

        public CancelReason Reason { get; set; }
    }
}

/// <summary>A halt as the list shows it.</summary>
internal sealed record RecentHalt(Guid Id, string When, string Reason, ProposalState State);
