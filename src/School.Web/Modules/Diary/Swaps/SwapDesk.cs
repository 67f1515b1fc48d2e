using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>Whose answer it is and how it comes in, under the locks of the swap.</summary>
/// <param name="LessonId">Which of the two lessons.</param>
/// <param name="How">From the pupil, or noted by staff.</param>
/// <param name="Proposal">The swap as it is, not tracked.</param>
/// <param name="Answers">Both answers as they are, not tracked.</param>
internal sealed record TakenSwap(Guid LessonId, SwapHow How, Proposal Proposal, IReadOnlyList<SwapAnswer> Answers)
{
    public SwapAnswer Own => Answers.Single(a => a.LessonId == LessonId);
}

/// <summary>Finds a swap for somebody who answers, takes its locks and says why it can no longer be answered.</summary>
internal sealed class SwapDesk(SchoolDb db, SwapReader reader, SwapRules rules, IClock clock)
{
    public async Task<(TakenSwap? Taken, Refusal? Refusal)> TakeAsync(Viewer viewer, Guid id, SwapAnswerRequest request, CancellationToken cancel)
    {
        if (await reader.FindAsync(viewer, id, null, cancel) is not { } seen || seen.Answers.Count == 0)
        {
            return (null, Refusal.NotFound("swap"));
        }

        // Staff who learn here as well answer for themselves where they name nobody's lesson.
        var own = seen.Own ?? (request.LessonId is null ? seen.Answers.FirstOrDefault(a => a.PupilId == viewer.PupilId) : null);
        if (own is null && request.LessonId is null)
        {
            return (null, Refusal.Invalid(nameof(request.LessonId), "Say which of the two lessons it is whose pupil answered."));
        }

        var lessonId = request.LessonId ?? own!.LessonId;
        if (!seen.Shows(lessonId) || seen.Answers.All(a => a.LessonId != lessonId)
            || (own is null && seen.More.Before.Any(one => !viewer.KeepsDiaryOf(one.InstructorId) || !viewer.KeepsDiaryOf(one.ToInstructorId))))
        {
            return (null, Refusal.NotFound("swap"));
        }

        await rules.LockAsync(SwapRules.AskOf(seen.Proposal), [MakeProposal.LockOf(id)], cancel);
        var proposal = await db.Set<Proposal>().AsNoTracking().SingleAsync(p => p.Id == id, cancel);
        var answers = await db.Set<SwapAnswer>().AsNoTracking().Where(a => a.ProposalId == id).ToListAsync(cancel);
        var taken = new TakenSwap(lessonId, own is null ? SwapHow.Phone : SwapHow.Pupil, proposal, answers);
        return (taken, Closed(taken));
    }

    private Refusal? Closed(TakenSwap swap) =>
        swap.Proposal.State is ProposalState.Applied ? SwapRefusals.Done
        : swap.Proposal.State is not ProposalState.Proposed ? SwapRules.MoreOf(swap.Proposal).Ended is SwapEnd.Lapsed ? SwapRefusals.Lapsed : SwapRefusals.Off
        : swap.Own.LapsesAt <= clock.GetCurrentInstant() ? SwapRefusals.Lapsed
        : null;
}
