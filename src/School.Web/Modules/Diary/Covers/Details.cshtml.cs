using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>A plan for cover: how far it has come, then who takes what; carried out or dropped from here.</summary>
[Needs(Permission.ArrangeCover)]
internal sealed class DetailsModel(
    SchoolDb db, ProposalReader reader, ApplyProposal apply, DropProposal drop, InstructorBook instructors, PupilBook pupils, OwnPupils own, CarPark cars, SchoolInfo school, Viewer viewer) : PageModel
{
    private IReadOnlyList<Guid>? ticked;

    public Proposal Plan { get; private set; } = null!;

    public CoverRequest Ask { get; private set; } = null!;

    public string Who { get; private set; } = "";

    public string When { get; private set; } = "";

    public string Summary { get; private set; } = "";

    public string HowSure { get; private set; } = "";

    public IReadOnlyList<CoverRow> Rows { get; private set; } = [];

    public bool Open => Plan.State is ProposalState.Proposed;

    public string Progress => Plan.Of == 0
        ? "This takes a little longer. It goes on while you do something else."
        : $"This takes a little longer: about {Plan.Done * 100 / Plan.Of} % done. It goes on while you do something else.";

    public string WhatHappens => Ask.InstructorId is not null ? $"Time off is entered for {Who}." : "The car is taken off the road for that time.";

    /// <summary>What the press would do, counted as it is ticked now.</summary>
    public CoverCount Ticked => CoverCount.Of(Rows.Where(row => row.Taken));

    /// <summary>What was ticked otherwise than the button said, or would cancel lessons, is asked once more.</summary>
    public bool Asking { get; private set; }

    public bool WasApplied => Plan.State is ProposalState.Applied;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await ShowAsync(id, cancel) ? Page() : NotFound();

    /// <param name="id">Which plan.</param>
    /// <param name="take">The lessons that are ticked.</param>
    /// <param name="seen">The version that was looked at.</param>
    /// <param name="said">What the button named that was pressed, as <see cref="CoverCount.Code"/>.</param>
    /// <param name="sure">Whether it was asked once more.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<IActionResult> OnPostApplyAsync(Guid id, List<Guid> take, int? seen, string? said, bool sure, CancellationToken cancel)
    {
        ticked = take;
        if (take.Count == 0)
        {
            ModelState.AddModelError("", "Tick at least one lesson.");
            return await ShowAsync(id, cancel) ? Page() : NotFound();
        }

        if (!await ShowAsync(id, cancel))
        {
            return NotFound();
        }

        if (Open && ((said is not null && Ticked.Code != said) || (Ticked.Cancelled > 0 && !sure)))
        {
            Asking = true;
            return Page();
        }

        var applied = await apply.RunAsync(viewer, id, new(take), seen, cancel);
        if (applied.Ok)
        {
            TempData["Done"] = $"{Ticked.Done} {await ToldAsync(applied.Value, take, cancel)}";
            return Redirect($"/diary/covers/{id}");
        }

        if (applied.Refusal.Kind is RefusalKind.NotFound)
        {
            return NotFound();
        }

        ticked = applied.Refusal.Code == ApplyProposal.Stale.Code ? null : take;
        ModelState.AddModelError("", applied.Refusal.For(Viewer.From(User)));
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    public async Task<IActionResult> OnPostStopAsync(Guid id, CancellationToken cancel)
    {
        var stopped = await drop.RunAsync(viewer, id, cancel);
        if (stopped.Ok)
        {
            TempData["Done"] = "Dropped. Nothing was changed.";
            return Redirect("/diary/covers");
        }

        ModelState.AddModelError("", stopped.Refusal.For(Viewer.From(User)));
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    /// <summary>Who hears of it by letter, and whom somebody must tell.</summary>
    private async Task<string> ToldAsync(Proposal plan, List<Guid> take, CancellationToken cancel)
    {
        var lessons = plan.LinesOf().Where(line => take.Contains(line.Id)).SelectMany(line => line.LessonIds).ToArray();
        var ids = await db.Set<Lesson>().Where(l => lessons.Contains(l.Id)).Select(l => l.PupilId).Distinct().ToListAsync(cancel);
        var unreached = (await own.VeilAsync(viewer, await pupils.CardsAsync(ids, cancel), cancel)).Values.Where(card => !card.HasEmail).OrderBy(card => card.Name, StringComparer.CurrentCulture).ToList();
        return unreached.Count == 0 ? "Everybody concerned is being told."
            : $"Whoever has an e-mail address is being told. {string.Join(" ", unreached.Select(card => Words.OnTheWay("", card)))}";
    }

    private async Task<bool> ShowAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(viewer, id, cancel, ProposalKind.Cover) is not { } plan)
        {
            return false;
        }

        var facts = await school.GetAsync(cancel);
        var names = (await instructors.ListAsync(alsoRetired: true, cancel)).ToDictionary(card => card.Id, card => card.Choice);
        var labels = (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars.ToDictionary(c => c.Id, c => c.Label);
        (Plan, Ask) = (plan, CoverRules.AskOf(plan));
        Who = Ask.InstructorId is { } instructor ? names[instructor] : $"the {labels[Ask.CarId!.Value]}";
        When = facts.Period(Ask.During);
        if (CoverRules.MoreOf(plan) is not { } more)
        {
            return true;
        }

        var lines = plan.LinesOf();
        (Summary, HowSure) = (CoverWords.Summary(lines, more), CoverWords.HowSure(more));
        // What was carried out leaves only its own lines; what it was chosen from is kept as it was booked.
        var before = (more.Before ?? []).ToDictionary(one => one.LessonId);
        var all = lines.Select(line => line.Id).Concat(before.Keys).Distinct().ToList();
        var ids = all.ToArray();
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToDictionaryAsync(l => l.Id, cancel);
        var cards = await pupils.CardsAsync(lessons.Values.Select(l => l.PupilId), cancel);
        var proposed = lines.ToDictionary(line => line.Id);
        Rows = [.. all.Select(id => Row(proposed.GetValueOrDefault(id), lessons[id], before.GetValueOrDefault(id), cards, names, labels, facts)).OrderBy(row => row.Proposed is null)];
        return true;
    }

    private CoverRow Row(
        ProposalLine? line, Lesson lesson, CoverBefore? before, IReadOnlyDictionary<Guid, PupilCard> cards, Dictionary<Guid, string> names,
        Dictionary<Guid, string> labels, SchoolFacts facts)
    {
        var booked = before ?? new(lesson.Id, lesson.InstructorId, lesson.CarId, lesson.StartsAt, false);
        var length = lesson.During.Duration;
        var proposed = line?.Act is ProposalAct.Move ? facts.When(new(line.Start!.Value, line.Start.Value + length)) : null;
        var moved = line?.Act is ProposalAct.Move && line.Start != booked.Start;
        return new(
            lesson.Id,
            cards[lesson.PupilId].Name,
            facts.When(new(booked.Start, booked.Start + length)),
            $"{names[booked.InstructorId]}, {labels[booked.CarId]}",
            proposed,
            line?.Act is ProposalAct.Move ? $"{names[line.InstructorId!.Value]}, {labels[line.CarId!.Value]}" : null,
            moved,
            [.. (line?.WhyNot ?? []).Select(why => $"{names[why.InstructorId!.Value]}: {why.Sentence}")],
            ticked?.Contains(lesson.Id) ?? (proposed is not null && (!moved || booked.Stated)),
            line is not null);
    }
}

/// <summary>A line of a proposal as the page shows it: as it was booked, and what is proposed.</summary>
/// <param name="InPlan">Whether it is among what is proposed, or was carried out.</param>
internal sealed record CoverRow(
    Guid LessonId, string Pupil, string Now, string NowWith, string? Proposed, string? ProposedWith, bool Moved, IReadOnlyList<string> WhyNot, bool Taken, bool InPlan);
