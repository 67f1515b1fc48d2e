using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>One swap: staff see both lessons and settle it; a pupil sees their own, by the link in their letter or signed in, and says yes or no. Opening it agrees to nothing.</summary>
[AllowAnonymous]
internal sealed class DetailsModel(
    SwapReader reader, AcceptSwap accept, DeclineSwap decline, ApplyProposal apply, DropProposal drop, PupilBook pupils, InstructorBook instructors, SchoolInfo school, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Key { get; set; }

    public SeenSwap Swap { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public IReadOnlyList<SwapRow> Rows { get; private set; } = [];

    public bool Lapsed => Swap.Answers.Count > 0 && Swap.Answers[0].LapsesAt <= clock.GetCurrentInstant();

    public bool Open => Swap.Proposal.State is ProposalState.Proposed && Swap.Answers.Count > 0 && !Lapsed;

    public bool WasApplied => Swap.Proposal.State is ProposalState.Applied;

    public bool SignedIn => Viewer.From(User) is not null;

    public int Missing => Swap.Answers.Count(a => a.Reply is not SwapReply.Agreed);

    public string Here => Key is null ? SwapRefusals.Page(Swap.Proposal.Id) : $"{SwapRefusals.Page(Swap.Proposal.Id)}?key={Uri.EscapeDataString(Key)}";

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await ShowAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostYesAsync(Guid id, Guid? lessonId, CancellationToken cancel)
    {
        if (await AnswererAsync(id, lessonId, cancel) is not { } viewer)
        {
            return NotFound();
        }

        var answered = await accept.RunAsync(viewer, id, new(lessonId), cancel);
        if ((answered.Refusal ?? answered.Value?.Cannot) is { } refusal)
        {
            return await RefusedAsync(id, refusal, cancel);
        }

        await ShowAsync(id, cancel);
        TempData["Done"] = WasApplied ? Swap.Own is null ? "Swapped. Letters are on their way." : $"Your lesson is now {Rows[0].To}, with {Rows[0].ToWith}."
            : Swap.Own is null ? "Noted." : "Thank you. Your lesson stays as it is until it is settled; we tell you then.";
        return LocalRedirect(Here);
    }

    public async Task<IActionResult> OnPostNoAsync(Guid id, Guid? lessonId, CancellationToken cancel)
    {
        if (await AnswererAsync(id, lessonId, cancel) is not { } viewer)
        {
            return NotFound();
        }

        var declined = await decline.RunAsync(viewer, id, new(lessonId), cancel);
        if (!declined.Ok)
        {
            return await RefusedAsync(id, declined.Refusal, cancel);
        }

        TempData["Done"] = Swap.Own is null ? "Noted. Both lessons stay." : "Your lesson stays as it is.";
        return LocalRedirect(Here);
    }

    public async Task<IActionResult> OnPostApplyAsync(Guid id, CancellationToken cancel)
    {
        if (!await ShowAsync(id, cancel) || Swap.Own is not null || Viewer.From(User) is not { } viewer)
        {
            return NotFound();
        }

        var applied = await apply.RunAsync(viewer, id, new(), null, cancel);
        if (!applied.Ok)
        {
            return await RefusedAsync(id, applied.Refusal, cancel);
        }

        TempData["Done"] = "Swapped. Letters are on their way.";
        return LocalRedirect(Here);
    }

    public async Task<IActionResult> OnPostDropAsync(Guid id, CancellationToken cancel)
    {
        if (!await ShowAsync(id, cancel) || Swap.Own is not null || Viewer.From(User) is not { } viewer)
        {
            return NotFound();
        }

        var dropped = await drop.RunAsync(viewer, id, cancel);
        if (!dropped.Ok)
        {
            return await RefusedAsync(id, dropped.Refusal, cancel);
        }

        TempData["Done"] = "Dropped. Both lessons stay.";
        return LocalRedirect(Here);
    }

    /// <summary>What became of it, for its pupil.</summary>
    public string Ended => WasApplied ? "Your lesson was swapped." : Swap.More.Ended is SwapEnd.Lapsed || (Lapsed && Swap.Proposal.State is ProposalState.Proposed)
        ? SwapRefusals.Lapsed.Telling.ToPupil
        : SwapRefusals.Off.Telling.ToPupil;

    /// <summary>As whom somebody answers: by the link of a letter as its pupil, else as who they are. Staff say whose answer they note.</summary>
    private async Task<Viewer?> AnswererAsync(Guid id, Guid? lessonId, CancellationToken cancel)
    {
        if (!await ShowAsync(id, cancel) || (Swap.Own is null) != (lessonId is not null))
        {
            return null;
        }

        return Swap.Own is { } own && own.Opens(Key) ? Viewer.Nobody with { PupilId = own.PupilId, Name = Rows[0].Pupil } : Viewer.From(User);
    }

    private async Task<IActionResult> RefusedAsync(Guid id, Refusal refusal, CancellationToken cancel)
    {
        ModelState.AddModelError("", Swap.Own is null ? refusal.Telling.ToStaff : refusal.Telling.ToPupil);
        return await ShowAsync(id, cancel) ? Page() : NotFound();
    }

    private async Task<bool> ShowAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(Viewer.From(User), id, Key, cancel) is not { } swap)
        {
            return false;
        }

        (Swap, School) = (swap, await school.GetAsync(cancel));
        var names = await instructors.NamesAsync(cancel);
        var shown = swap.More.Before.Where(one => swap.Shows(one.LessonId)).ToList();
        var cards = await pupils.CardsAsync(shown.Select(one => one.PupilId), cancel);
        var lines = swap.Proposal.LinesOf().ToDictionary(line => line.Id);
        Rows =
        [
            .. shown.Select(one => new SwapRow(
                one.LessonId, cards[one.PupilId].Name, School.When(one.During), names[one.InstructorId], School.When(one.To), names[one.ToInstructorId],
                lines[one.LessonId].WhyNot is [var why, ..] ? why.Sentence : null, swap.Answers.FirstOrDefault(a => a.LessonId == one.LessonId))),
        ];
        return true;
    }
}

/// <summary>A lesson of a swap as its page shows it.</summary>
internal sealed record SwapRow(Guid LessonId, string Pupil, string Now, string NowWith, string To, string ToWith, string? WhyNot, SwapAnswer? Answer);
