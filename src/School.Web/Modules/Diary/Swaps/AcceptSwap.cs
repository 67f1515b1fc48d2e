using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>A swap after an answer; why it came to nothing where it did by this answer.</summary>
internal sealed record AnsweredSwap(Proposal Proposal, Refusal? Cannot);

/// <summary>
/// A pupil says yes, or staff note that they did by phone. The last yes carries the swap out in the same transaction, where it still fits; else nothing moves, the swap ends and both hear that
/// their lesson stays. That is an answer and no refusal, so that it is kept.
/// </summary>
internal sealed class AcceptSwap(SchoolDb db, SwapDesk desk, SwapRules rules, SwapEnds ends, ApplyProposal apply, IClock clock)
{
    private const string CannotCode = "swap_no_longer_fits";

    public Task<Outcome<AnsweredSwap>> RunAsync(Viewer viewer, Guid id, SwapAnswerRequest request, CancellationToken cancel) => db.InTransactionAsync<AnsweredSwap>(
        async cancel =>
        {
            var (taken, refusal) = await desk.TakeAsync(viewer, id, request, cancel);
            if (taken is null || refusal is not null)
            {
                return refusal!;
            }

            if (taken.Own.Reply is SwapReply.Agreed)
            {
                return SwapRefusals.Answered;
            }

            var last = taken.Answers.All(a => a.LessonId == taken.LessonId || a.Reply is SwapReply.Agreed);
            // The school proposed it, so the school's rules for its own moves hold: no notice, but everything else.
            var by = taken.How is SwapHow.Phone ? viewer : Viewer.Service;
            // Before anything is tracked: looking tries it out and undoes it. The first yes looks too, or a pupil would wait for what cannot be.
            var look = await rules.LookAsync(by, taken.Proposal, cancel);
            var proposal = await db.Set<Proposal>().SingleAsync(p => p.Id == id, cancel);
            var answers = await db.Set<SwapAnswer>().Where(a => a.ProposalId == id).ToListAsync(cancel);
            answers.Single(a => a.LessonId == taken.LessonId).Answer(SwapReply.Agreed, taken.How, viewer, clock.GetCurrentInstant());
            if (!look.Fits)
            {
                proposal.KeepCarriedOut(look.Lines);
                await ends.EndAsync(proposal, answers, SwapEnd.NoLongerFits, a => a.LessonId != taken.LessonId || taken.How is SwapHow.Phone, cancel);
                return new AnsweredSwap(proposal, Cannot(look, taken.LessonId));
            }

            if (!last)
            {
                return new AnsweredSwap(proposal, null);
            }

            var applied = await apply.ApplyAsync(by, id, new(), null, cancel, justMade: true);
            return applied.Ok ? new AnsweredSwap(applied.Value.Proposal, null) : applied.Refusal;
        },
        cancel);

    /// <summary>The pupil reads of their own lesson alone.</summary>
    private static Refusal Cannot(SwapLook look, Guid lessonId)
    {
        var staff = look.WhyNot.Values.Where(why => why.Code != SwapRefusals.OtherStays.Code).Select(why => why.Telling.ToStaff).Distinct();
        return Refusal.Conflict(CannotCode, new Telling(
            $"Nothing was moved, and the swap is off. {string.Join(" ", staff)}",
            $"The swap can no longer be done, so your lesson stays as it is. {look.WhyNot[lessonId].Telling.ToPupil}"));
    }
}
