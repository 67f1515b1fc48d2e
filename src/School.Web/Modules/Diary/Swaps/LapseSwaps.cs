using Hangfire;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>
/// Ends swaps that were not settled in time, telling those who had said yes, and those whose lessons have been changed or cancelled since, telling whose lesson still stands.
/// Any number of workers may run it: each swap under its lock.
/// </summary>
internal sealed class LapseSwaps(SchoolDb db, SwapEnds ends, IClock clock)
{
    public const string Job = "lapse-swaps";

    private static readonly Refusal StillOpen = Refusal.Conflict("open", "It may still be answered.");

    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunAsync(CancellationToken cancel)
    {
        var open = await db.Set<SwapAnswer>().Where(a => a.Open).Select(a => a.ProposalId).Distinct().ToListAsync(cancel);
        foreach (var id in open)
        {
            await db.InTransactionAsync<Proposal>(cancel => EndAsync(id, cancel), cancel);
        }
    }

    private async Task<Outcome<Proposal>> EndAsync(Guid id, CancellationToken cancel)
    {
        await db.LockAsync([MakeProposal.LockOf(id)], cancel);
        var proposal = await db.Set<Proposal>().SingleAsync(p => p.Id == id, cancel);
        var answers = await db.Set<SwapAnswer>().Where(a => a.ProposalId == id && a.Open).ToListAsync(cancel);
        if (answers.Count == 0)
        {
            return StillOpen;
        }

        var ids = answers.ConvertAll(a => a.LessonId);
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
        var more = SwapRules.MoreOf(proposal);
        if (lessons.Exists(l => !more.Of(l.Id).Stands(l)))
        {
            await ends.EndAsync(proposal, answers, SwapEnd.NoLongerFits, a => more.Of(a.LessonId).Stands(lessons.Single(l => l.Id == a.LessonId)), cancel);
        }
        else if (answers.TrueForAll(a => a.LapsesAt <= clock.GetCurrentInstant()))
        {
            await ends.EndAsync(proposal, answers, SwapEnd.Lapsed, a => a.Reply is SwapReply.Agreed, cancel);
        }
        else
        {
            return StillOpen;
        }

        return proposal;
    }
}
