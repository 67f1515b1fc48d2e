using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Halts;

/// <summary>A halt: which lessons it touches, carried out or dropped from here; then whom to ring.</summary>
[Needs(Permission.ChangeHours)]
internal sealed class DetailsModel(
    ProposalReader reader, ApplyProposal apply, DropProposal drop, TickHaltCall tick, OpenHaltNumbers open, HaltCalls calls, InstructorBook instructors, PupilBook pupils, SchoolInfo school,
    Viewer viewer) : PageModel
{
    private IReadOnlyList<Guid>? ticked;

    public Proposal Halt { get; private set; } = null!;

    public HaltRequest Ask { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public string When { get; private set; } = "";

    public IReadOnlyList<HaltRow> Rows { get; private set; } = [];

    public IReadOnlyList<CallDue> Calls { get; private set; } = [];

    /// <summary>What is pressed instead of typed.</summary>
    public const string LikelyReason = "Their lesson was stopped and no letter reached them";

    [BindProperty]
    public string? Reason { get; set; }

    /// <summary>How many numbers are told for a reason only.</summary>
    public int Hidden => Calls.Count(call => call.AsksReason);

    public bool Open => Halt.State is ProposalState.Proposed;

    public bool WasApplied => Halt.State is ProposalState.Applied;

    public int Possible => Rows.Count(row => row.Possible);

    public int Ticked => Rows.Count(row => row.Taken);

    /// <summary>"Cancel 5 lessons".</summary>
    public string Button => $"{(Ask.Act is HaltAct.Move ? "Move" : "Cancel")} {Words.Count(Ticked, "lesson")}";

    /// <summary>What the button named, so that nothing else is done by it.</summary>
    public string Said => Ask.Act is HaltAct.Move ? $"{Ticked}:0" : $"0:{Ticked}";

    /// <summary>What was ticked otherwise than the button said is asked once more.</summary>
    public bool Asking { get; private set; }

    public static string Why(Unreached why) => why switch
    {
        Unreached.NoChannel => "no e-mail address",
        Unreached.Refused => "the letter was refused",
        Unreached.NotGone => "the letter has not gone after ten minutes",
        _ => "the letter has gone since",
    };

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await ShowAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostApplyAsync(Guid id, List<Guid> take, int? seen, string? said, CancellationToken cancel)
    {
        ticked = take;
        if (!await ShowAsync(id, cancel))
        {
            return NotFound();
        }

        if (Open && Ticked == 0)
        {
            ModelState.AddModelError("", "Tick at least one lesson.");
            return Page();
        }

        if (Open && Said != said)
        {
            Asking = true;
            return Page();
        }

        var applied = await apply.RunAsync(viewer, id, new(take), seen, cancel);
        if (applied.Ok)
        {
            TempData["Done"] = $"{Words.Count(Ticked, "lesson")} {(Ask.Act is HaltAct.Move ? "moved" : "cancelled")}, free of charge. Letters are on their way.";
            return Redirect($"/diary/halts/{id}");
        }

        ticked = applied.Refusal.Code == ApplyProposal.Stale.Code ? null : take;
        ModelState.AddModelError("", applied.Refusal.For(Viewer.From(User)));
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    public async Task<IActionResult> OnPostCalledAsync(Guid id, Guid pupil, CancellationToken cancel)
    {
        var done = await tick.RunAsync(viewer, id, new(pupil), cancel);
        if (!done.Ok)
        {
            return NotFound();
        }

        TempData["Done"] = "Ticked off.";
        return Redirect($"/diary/halts/{id}#calls");
    }

    public async Task<IActionResult> OnPostNumbersAsync(Guid id, string? likely, CancellationToken cancel)
    {
        var opened = await open.RunAsync(viewer, id, new(string.IsNullOrWhiteSpace(likely) ? Reason ?? "" : likely), cancel);
        if (opened.Ok)
        {
            TempData["Done"] = "The numbers on this list are open to you until midnight.";
            return Redirect($"/diary/halts/{id}#calls");
        }

        if (!await ShowAsync(id, cancel))
        {
            return NotFound();
        }

        this.AddRefusal(opened.Refusal);
        return Page();
    }

    public async Task<IActionResult> OnPostStopAsync(Guid id, CancellationToken cancel)
    {
        var stopped = await drop.RunAsync(viewer, id, cancel);
        if (stopped.Ok)
        {
            TempData["Done"] = "Dropped. Nothing was changed.";
            return Redirect("/diary/halts");
        }

        ModelState.AddModelError("", stopped.Refusal.For(Viewer.From(User)));
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    private async Task<bool> ShowAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(viewer, id, cancel, ProposalKind.Halt) is not { } halt)
        {
            return false;
        }

        (Halt, Ask, School) = (halt, HaltRules.AskOf(halt), await school.GetAsync(cancel));
        When = School.Period(Ask.During);
        var names = await instructors.NamesAsync(cancel);
        var before = HaltRules.MoreOf(halt).Before;
        var lines = halt.LinesOf().ToDictionary(line => line.Id);
        var cards = await pupils.CardsAsync([.. before.Select(one => one.PupilId)], cancel);
        Rows = [.. before.Select(one => Row(one, lines.GetValueOrDefault(one.LessonId), cards[one.PupilId].Name, names[one.InstructorId]))];
        Calls = await calls.OfAsync(viewer, halt, cancel) ?? [];
        return true;
    }

    private HaltRow Row(HaltBefore one, ProposalLine? line, string pupil, string instructor)
    {
        var possible = line is { Act: not ProposalAct.None };
        return new(
            one.LessonId, pupil, School.When(new(one.Start, one.End)), instructor, line?.Start is { } start ? School.When(new(start, start + (one.End - one.Start))) : null,
            line?.WhyNot is [var why, ..] ? why.Sentence : null, possible, possible && (ticked?.Contains(one.LessonId) ?? (Ask.Act is not HaltAct.Move || one.Stated)), line is not null,
            possible && Ask.Act is HaltAct.Move && !one.Stated);
    }
}

/// <summary>A lesson of a halt as the page shows it.</summary>
/// <param name="InPlan">Whether it is among what is proposed, or was carried out.</param>
/// <param name="ToAsk">Whether the pupil has not said that they can come then.</param>
internal sealed record HaltRow(Guid LessonId, string Pupil, string Booked, string With, string? To, string? WhyNot, bool Possible, bool Taken, bool InPlan, bool ToAsk);
