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
    SchoolDb db, ProposalReader reader, ApplyProposal apply, DropProposal drop, InstructorBook instructors, PupilBook pupils, CarPark cars, SchoolInfo school, Viewer viewer) : PageModel
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

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await ShowAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostApplyAsync(Guid id, List<Guid> take, int? seen, CancellationToken cancel)
    {
        if (take.Count == 0)
        {
            ticked = take;
            ModelState.AddModelError("", "Tick at least one lesson.");
            return await ShowAsync(id, cancel) ? Page() : NotFound();
        }

        var applied = await apply.RunAsync(viewer, id, new(take), seen, cancel);
        if (applied.Ok)
        {
            TempData["Done"] = $"Carried out. {await ToldAsync(applied.Value, take, cancel)}";
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
        var unreached = (await pupils.CardsAsync(ids, cancel)).Values.Where(card => card.Email.Length == 0).OrderBy(card => card.Name, StringComparer.CurrentCulture).ToList();
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
        var names = await instructors.NamesAsync(cancel);
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
        var ids = lines.Select(line => line.Id).ToArray();
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToDictionaryAsync(l => l.Id, cancel);
        var cards = await pupils.CardsAsync(lessons.Values.Select(l => l.PupilId), cancel);
        Rows = [.. lines.Select(line => Row(line, lessons[line.Id], cards, names, labels, facts))];
        return true;
    }

    private CoverRow Row(
        ProposalLine line, Lesson lesson, IReadOnlyDictionary<Guid, PupilCard> cards, IReadOnlyDictionary<Guid, string> names,
        Dictionary<Guid, string> labels, SchoolFacts facts)
    {
        var proposed = line.Act is ProposalAct.Move ? facts.When(new(line.Start!.Value, line.Start.Value + lesson.During.Duration)) : null;
        return new(
            lesson.Id,
            cards[lesson.PupilId].Name,
            facts.When(lesson.During),
            $"{names[lesson.InstructorId]}, {labels[lesson.CarId]}",
            proposed,
            line.Act is ProposalAct.Move ? $"{names[line.InstructorId!.Value]}, {labels[line.CarId!.Value]}" : null,
            line.Act is ProposalAct.Move && line.Start != lesson.StartsAt,
            [.. line.WhyNot.Select(why => $"{names[why.InstructorId!.Value]}: {why.Sentence}")],
            ticked?.Contains(lesson.Id) ?? true);
    }
}

/// <summary>A line of a proposal as the page shows it.</summary>
internal sealed record CoverRow(
    Guid LessonId, string Pupil, string Now, string NowWith, string? Proposed, string? ProposedWith, bool Moved, IReadOnlyList<string> WhyNot, bool Taken);
