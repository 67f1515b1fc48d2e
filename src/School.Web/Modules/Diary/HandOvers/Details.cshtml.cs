using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.HandOvers;

/// <summary>A hand-over: which lessons go to the new instructor, carried out or dropped from here.</summary>
[Needs(Permission.ArrangeCover)]
internal sealed class DetailsModel(
    ProposalReader reader, ApplyProposal apply, DropProposal drop, InstructorBook instructors, PupilBook pupils, CarPark cars, SchoolInfo school, Viewer viewer) : PageModel
{
    private IReadOnlyList<Guid>? ticked;

    public Proposal HandOver { get; private set; } = null!;

    public HandOverAsk Ask { get; private set; } = null!;

    public string Pupil { get; private set; } = "";

    public string To { get; private set; } = "";

    public string? Former { get; private set; }

    public IReadOnlyList<HandOverRow> Rows { get; private set; } = [];

    public IReadOnlyList<HandOverTestRow> Tests { get; private set; } = [];

    public bool Open => HandOver.State is ProposalState.Proposed;

    public bool WasApplied => HandOver.State is ProposalState.Applied;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await ShowAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostApplyAsync(Guid id, List<Guid> take, int? seen, CancellationToken cancel)
    {
        ticked = take;
        if (!await ShowAsync(id, cancel))
        {
            return NotFound();
        }

        var applied = await apply.RunAsync(viewer, id, new([Ask.PupilId, .. take]), seen, cancel);
        if (applied.Ok)
        {
            TempData["Done"] = $"Handed over to {To}, with {Words.Count(take.Count, "lesson")}. Letters are on their way.";
            return Redirect($"/diary/hand-overs/{id}");
        }

        ticked = applied.Refusal.Code == ApplyProposal.Stale.Code ? null : take;
        ModelState.AddModelError("", applied.Refusal.For(viewer));
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    public async Task<IActionResult> OnPostStopAsync(Guid id, CancellationToken cancel)
    {
        var stopped = await drop.RunAsync(viewer, id, cancel);
        if (!await ShowAsync(id, cancel))
        {
            return NotFound();
        }

        if (stopped.Ok)
        {
            TempData["Done"] = "Dropped. Nothing was changed.";
            return Redirect($"/pupils/{Ask.PupilId}");
        }

        ModelState.AddModelError("", stopped.Refusal.For(viewer));
        return Page();
    }

    private async Task<bool> ShowAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(viewer, id, cancel, ProposalKind.HandOver) is not { } handOver)
        {
            return false;
        }

        (HandOver, Ask) = (handOver, HandOverRules.AskOf(handOver));
        var (facts, names, more) = (await school.GetAsync(cancel), await instructors.NamesAsync(cancel), HandOverRules.MoreOf(handOver));
        var labels = (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars.ToDictionary(car => car.Id, car => car.Label);
        Pupil = (await pupils.CardsAsync([Ask.PupilId], cancel))[Ask.PupilId].Name;
        (To, Former) = (names[Ask.InstructorId], more.FormerInstructorId is { } former ? names.GetValueOrDefault(former) : null);
        var lines = handOver.LinesOf().ToDictionary(line => line.Id);
        Rows = [.. more.Before.Select(one => Row(one, lines.GetValueOrDefault(one.LessonId)))];
        Tests = [.. more.Tests.Select(test => new HandOverTestRow(
            test.TestDayId, facts.Moment(test.Start),
            test.InstructorId is { } along ? $"{names.GetValueOrDefault(along)} goes along{(test.CarId is { } car ? $", in the {labels.GetValueOrDefault(car)}" : "")}." : "Nobody of the school goes along."))];
        return true;

        HandOverRow Row(HandOverBefore one, ProposalLine? line)
        {
            var possible = line is { Act: ProposalAct.Move };
            var then = line is { CarId: { } car } ? $"{To}, in the {labels.GetValueOrDefault(car)}" : To;
            return new(
                one.LessonId, facts.When(new(one.Start, one.End)), $"{names.GetValueOrDefault(one.InstructorId)}, in the {labels.GetValueOrDefault(one.CarId)}", then,
                line is { Act: ProposalAct.None, WhyNot: [var why, ..] } ? why.Sentence : null, possible, possible && (ticked?.Contains(one.LessonId) ?? true), line is not null);
        }
    }
}

/// <summary>A coming lesson as the page shows it.</summary>
internal sealed record HandOverRow(Guid LessonId, string When, string With, string Then, string? WhyNot, bool Possible, bool Taken, bool InPlan);

/// <summary>A test ahead as the page shows it.</summary>
internal sealed record HandOverTestRow(Guid Id, string When, string Words);
