using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>A pupil says no, also after a yes while nothing has moved, or staff note that they did by phone. The swap is off, and the other pupil hears that their lesson stays.</summary>
internal sealed class DeclineSwap(SchoolDb db, SwapDesk desk, SwapEnds ends, IClock clock)
{
    public Task<Outcome<Proposal>> RunAsync(Viewer viewer, Guid id, SwapAnswerRequest request, CancellationToken cancel) => db.InTransactionAsync<Proposal>(
        async cancel =>
        {
            var (taken, refusal) = await desk.TakeAsync(viewer, id, request, cancel);
            if (taken is null || refusal is not null)
            {
                return refusal!;
            }

            var proposal = await db.Set<Proposal>().SingleAsync(p => p.Id == id, cancel);
            var answers = await db.Set<SwapAnswer>().Where(a => a.ProposalId == id).ToListAsync(cancel);
            answers.Single(a => a.LessonId == taken.LessonId).Answer(SwapReply.Declined, taken.How, viewer, clock.GetCurrentInstant());
            await ends.EndAsync(proposal, answers, SwapEnd.Declined, a => a.LessonId != taken.LessonId, cancel);
            return proposal;
        },
        cancel);
}
