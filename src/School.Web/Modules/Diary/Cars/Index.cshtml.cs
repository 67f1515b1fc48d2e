using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Cars;

/// <summary>Which instructor needs which car when; what is missing; the proposal and its carrying out.</summary>
[Needs(Permission.ManageCars)]
internal sealed class IndexModel(
    GiveOutCars give, InstructorBook instructors, CarPark cars, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int DaysShown = 7;

    [BindProperty(SupportsGet = true)]
    public LocalDate? From { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalDate? To { get; set; }

    [BindProperty]
    public string? Seen { get; set; }

    public AllocationProposal? Proposal { get; private set; }

    public IReadOnlyList<AllocationRow> Rows { get; private set; } = [];

    public IReadOnlyList<string> Missing { get; private set; } = [];

    public string FromText => Text(From!.Value);

    public string ToText => Text(To!.Value);

    public Task OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid && From is { } from && To is { } to)
        {
            var applied = await give.RunAsync(viewer, new(new(from, to), Seen), cancel);
            if (applied.Ok)
            {
                TempData["Done"] = "The cars are given out for those days.";
                return Redirect($"/cars/allocation?from={Text(from)}&to={Text(to)}");
            }

            this.AddRefusal(applied.Refusal);
        }

        await ShowAsync(cancel);
        return Page();
    }

    private async Task ShowAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        From ??= facts.Today(clock);
        To ??= From.Value.PlusDays(DaysShown - 1);
        if (ModelState.Any(entry => entry.Key.Length > 0 && entry.Value?.Errors.Count > 0))
        {
            return;
        }

        var proposed = await give.LookAsync(new(From.Value, To.Value), cancel);
        if (!proposed.Ok)
        {
            this.AddRefusal(proposed.Refusal);
            return;
        }

        Proposal = proposed.Value.Proposal;
        ModelState.Remove(nameof(Seen));
        Seen = proposed.Value.Seen;
        var names = await instructors.NamesAsync(cancel);
        var labels = (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars.ToDictionary(c => c.Id, c => c.Label);
        Missing = [.. Proposal.Missing.Select(shortage => AllocationWords.Of(shortage, names, facts))];
        Rows = [.. Proposal.Lines.Select(line => new AllocationRow(
            ScreenWords.Day(line.Date),
            names[line.InstructorId],
            $"{(line.Gearbox is Gearbox.Manual ? "manual" : "automatic")}{(line.NeedsDualControls ? " with dual controls" : "")}, {AllocationWords.Times(line.Teaching, facts)}",
            line.HasCarId is { } has ? labels[has] : "none",
            line.CarId is { } car ? labels[car] : null,
            line.IsChange))];
    }

    private static string Text(LocalDate date) => date.ToString("uuuu-MM-dd", CultureInfo.InvariantCulture);
}

/// <summary>A need and its car as the page shows them.</summary>
internal sealed record AllocationRow(string Day, string Instructor, string Needs, string Has, string? Given, bool Change);
