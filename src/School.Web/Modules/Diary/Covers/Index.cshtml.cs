using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Home;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>Asks for cover, and lists what was asked for lately.</summary>
[Needs(Permission.ArrangeCover)]
internal sealed class IndexModel(ProposalReader proposals, PlanCover plan, InstructorBook instructors, CarPark cars, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const string InstructorChoice = "instructor:";
    private const string CarChoice = "car:";
    private const int MostRecent = 10;

    private static readonly int[] MayMove = [0, 30, 60, 120, NodaConstants.MinutesPerDay];

    [BindProperty]
    public AskInput Input { get; set; } = new();

    public IReadOnlyList<SelectListItem> Choices { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Moves { get; } = [.. MayMove.Select(minutes => new SelectListItem(CoverWords.Choice(minutes), $"{minutes}"))];

    public IReadOnlyList<RecentPlan> Recent { get; private set; } = [];

    /// <summary>What is known already of who, when and why stands in the form.</summary>
    public async Task OnGetAsync(Guid? instructorId, Guid? carId, string? start, string? end, string? reason, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        Input.Who = instructorId is { } instructor ? InstructorChoice + instructor : carId is { } car ? CarChoice + car : null;
        (Input.FirstDay, Input.Reason) = (facts.Today(clock), reason);
        if (CoverLink.Read(start) is { } from && CoverLink.Read(end) is { } until && until > from)
        {
            Fill(Instant.Max(from, Midnight(facts)), until, facts.Zone);
        }

        await ShowAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var zone = (await school.GetAsync(cancel)).Zone;
            var (first, last) = (Input.FirstDay!.Value, Input.LastDay ?? Input.FirstDay.Value);
            var errors = new FieldErrors().WrongYear(nameof(Input.FirstDay), first).WrongYear(nameof(Input.LastDay), last)
                .When(last < first, nameof(Input.LastDay), "The last day must not be before the first.")
                .When(first == last && Input.UntilTime <= Input.FromTime, nameof(Input.UntilTime), "The end must be after the start.");
            if (!errors.Any)
            {
                var start = Input.FromTime is { } from ? errors.ReadStart(nameof(Input.FromTime), first + from, zone) : zone.AtStartOfDay(first).ToInstant();
                var end = Input.UntilTime is { } until ? errors.ReadEnd(nameof(Input.UntilTime), last + until, zone) : zone.AtStartOfDay(last.PlusDays(1)).ToInstant();
                if (!errors.Any)
                {
                    var made = await plan.RunAsync(
                        viewer, new(Chosen(InstructorChoice), Chosen(CarChoice), start, end, Input.Reason, Input.MayMove), cancel);
                    if (made.Ok)
                    {
                        return Redirect($"/diary/covers/{made.Value.Id}");
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

    private Instant Midnight(SchoolFacts facts) => facts.Zone.AtStartOfDay(facts.Today(clock)).ToInstant();

    // Whole days have no times, and more days than are looked for at once are cut.
    private void Fill(Instant from, Instant until, DateTimeZone zone)
    {
        var (first, last) = (from.InZone(zone), Instant.Min(until, from + Duration.FromDays(PlanCover.LongestDays)).InZone(zone));
        var wholeLast = last.TimeOfDay == LocalTime.Midnight && last.Date > first.Date;
        Input.FirstDay = first.Date;
        Input.FromTime = first.TimeOfDay == LocalTime.Midnight ? null : first.TimeOfDay.With(TimeAdjusters.TruncateToMinute);
        var day = wholeLast ? last.Date.PlusDays(-1) : last.Date;
        Input.LastDay = day == first.Date ? null : day;
        Input.UntilTime = wholeLast ? null : last.TimeOfDay.With(TimeAdjusters.TruncateToMinute);
    }

    private Guid? Chosen(string kind) =>
        Input.Who?.StartsWith(kind, StringComparison.Ordinal) == true && Guid.TryParse(Input.Who.AsSpan(kind.Length), out var id) ? id : null;

    private void AddToForm(Refusal refusal)
    {
        // The verb speaks of start and end; the form has a day and a time for each.
        var fields = refusal.Fields.ToDictionary(
            f => f.Key switch { "Start" => nameof(Input.FirstDay), "End" => nameof(Input.LastDay), "InstructorId" or "CarId" => nameof(Input.Who), "MayMoveMinutes" => nameof(Input.MayMove), _ => f.Key },
            f => f.Value);
        this.AddRefusal(refusal with { Fields = fields }, fields.Count > 0 ? nameof(Input) : "");
    }

    private async Task ShowAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var park = await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel);
        var names = await instructors.NamesAsync(cancel);
        Choices =
        [
            .. (await instructors.ListAsync(alsoRetired: false, cancel)).Select(i => new SelectListItem($"{i.Name} is ill", InstructorChoice + i.Id)),
            .. park.Cars.Where(c => c.RetiredOn is null).Select(c => new SelectListItem($"The {c.Label} is off the road", CarChoice + c.Id)),
        ];
        var asked = await proposals.VisibleTo(viewer).Where(p => p.Kind == ProposalKind.Cover).OrderByDescending(p => p.AskedAt).Take(MostRecent).ToListAsync(cancel);
        Recent = [.. asked.Select(proposal => (proposal, Ask: CoverRules.AskOf(proposal))).Select(c => new RecentPlan(
            c.proposal.Id,
            c.Ask.InstructorId is { } id ? names[id] : $"The {park.Cars.First(car => car.Id == c.Ask.CarId).Label}",
            facts.Period(c.Ask.During),
            c.proposal.State))];
    }

    internal sealed class AskInput
    {
        [Required(ErrorMessage = "Choose the instructor who is ill or the car that is off the road.")]
        public string? Who { get; set; }

        [Required(ErrorMessage = "Enter the first day.")]
        public LocalDate? FirstDay { get; set; }

        public LocalTime? FromTime { get; set; }

        public LocalDate? LastDay { get; set; }

        public LocalTime? UntilTime { get; set; }

        public int MayMove { get; set; }

        public string? Reason { get; set; }
    }
}

/// <summary>A plan as the list shows it.</summary>
internal sealed record RecentPlan(Guid Id, string Who, string When, ProposalState State);
