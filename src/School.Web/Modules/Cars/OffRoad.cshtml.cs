using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Cars;

[Needs(Permission.ManageCars), ShowsWhatStands]
internal sealed class OffRoadModel(SchoolDb db, TakeOffRoad take, ChangeOffRoad change, PutBackOnRoad back, Ahead ahead, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    /// <summary>Where nobody knows yet when it ends, cover is looked for so far ahead.</summary>
    private static readonly Duration LongestSearch = Duration.FromDays(14);

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>The period that is changed; null when one is entered.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Period { get; set; }

    /// <summary>The version of it that was looked at.</summary>
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public string? Reason { get; set; }

    [BindProperty]
    public LocalDate? FromDay { get; set; }

    [BindProperty]
    public LocalTime? FromTime { get; set; }

    [BindProperty]
    public LocalDate? UntilDay { get; set; }

    [BindProperty]
    public LocalTime? UntilTime { get; set; }

    [BindProperty]
    public Guid? PeriodId { get; set; }

    public string Label { get; private set; } = "";

    public IReadOnlyList<OffRoadLine> Lines { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Open { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        if (Period is { } id)
        {
            var period = await db.Set<OffRoadPeriod>().AsNoTracking().SingleOrDefaultAsync(o => o.Id == id && o.CarId == Id && !(o.EndsAt <= now), cancel);
            if (period is null)
            {
                return NotFound();
            }

            Take(period, (await school.GetAsync(cancel)).Zone);
        }

        return await ShowAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var start = Moment(zone, FromDay, FromTime, nameof(FromTime), later: false);
        var end = Moment(zone, UntilDay, UntilTime, nameof(UntilTime), later: true);
        var input = new OffRoadInput(start, end, Reason);
        return Period is { } id
            ? await DoAsync(() => change.RunAsync(viewer, Id, id, input, Version, cancel), "The time off the road is changed.", cancel)
            : await DoAsync(() => take.RunAsync(viewer, Id, input, cancel), "The car is off the road in that time.", cancel);
    }

    public Task<IActionResult> OnPostBackAsync(CancellationToken cancel)
    {
        if (PeriodId is null)
        {
            ModelState.AddModelError(nameof(PeriodId), "Choose the period that ends.");
        }

        return DoAsync(() => back.RunAsync(viewer, Id, PeriodId ?? Guid.Empty, cancel), "The car is back on the road.", cancel);
    }

    private void Take(OffRoadPeriod period, DateTimeZone zone)
    {
        var (start, end) = (period.StartsAt.InZone(zone), period.EndsAt?.InZone(zone));
        (Reason, Version) = (period.Reason, period.Version);
        (FromDay, FromTime) = (start.Date, start.TimeOfDay.With(TimeAdjusters.TruncateToMinute));
        (UntilDay, UntilTime) = (end?.Date, end?.TimeOfDay.With(TimeAdjusters.TruncateToMinute));
    }

    /// <summary>A time that the clocks skip is refused; one that comes twice keeps the car off the road for both.</summary>
    private Instant? Moment(DateTimeZone zone, LocalDate? day, LocalTime? time, string field, bool later)
    {
        if (day is null && time is null)
        {
            return null;
        }

        if (day is not { } date || time is not { } at)
        {
            ModelState.AddModelError(field, "Enter both the day and the time.");
            return null;
        }

        var moments = zone.MapLocal(date + at);
        if (moments.Count == 0)
        {
            ModelState.AddModelError(field, "There is no such time on that day: the clocks go forward over it.");
            return null;
        }

        return (later ? moments.Last() : moments.First()).ToInstant();
    }

    private async Task<IActionResult> DoAsync(Func<Task<Outcome<OffRoadPeriod>>> verb, string done, CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var outcome = await verb();
            if (outcome.Ok)
            {
                var (needed, address) = await CoverAsync(outcome.Value, cancel);
                TempData["Done"] = needed is null ? done : $"{done} {needed}";
                return LocalRedirect(address ?? $"/cars/{Id}/off-road");
            }

            foreach (var (field, sentences) in outcome.Refusal.Fields)
            {
                ModelState.AddModelError(field switch { "Start" => nameof(FromDay), "End" => nameof(UntilDay), _ => field }, string.Join(" ", sentences));
            }

            if (outcome.Refusal.Fields.Count == 0)
            {
                ModelState.AddModelError("", outcome.Refusal.For(Viewer.From(User)));
            }
        }

        return await ShowAsync(cancel);
    }

    /// <summary>Where lessons need the car in that time: how many, and the page on which others are found for them.</summary>
    private async Task<(string? Needed, string? Address)> CoverAsync(OffRoadPeriod period, CancellationToken cancel)
    {
        var until = period.EndsAt ?? period.StartsAt + LongestSearch;
        var booked = await ahead.AskAsync(new(CarId: Id) { Within = new(period.StartsAt, until) }, cancel);
        if (booked.Lessons == 0 || period.EndsAt <= clock.GetCurrentInstant() || !viewer.May(Permission.ArrangeCover))
        {
            return (null, null);
        }

        var (start, end) = (InstantPattern.General.Format(period.StartsAt), InstantPattern.General.Format(until));
        return ($"{new StillAhead(booked.Lessons, 0).What} need it: find cover.", $"/diary/covers?carId={Id}&start={start}&end={end}&reason={Uri.EscapeDataString(period.Reason)}");
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (await db.Set<Car>().AsNoTracking().Include(c => c.OffRoad).SingleOrDefaultAsync(c => c.Id == Id, cancel) is not { } car)
        {
            return NotFound();
        }

        Label = car.Label;
        Lines = OffRoadLine.Of(car, await school.GetAsync(cancel), clock.GetCurrentInstant());
        Open = [.. Lines.Where(l => l.Ends).Select(l => new SelectListItem($"{l.Reason}, {l.From}", l.Id.ToString()))];
        return Page();
    }
}
