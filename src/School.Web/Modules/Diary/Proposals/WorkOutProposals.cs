using Hangfire;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>The job that works out proposals which take longer than a page should. It tells how far it has come and ends when it is
/// dropped, by whichever node, or when its time is over.</summary>
internal sealed class WorkOutProposals(SchoolDb db, IEnumerable<ProposalRules> kinds)
{
    // The name that it had when it worked out covers alone: a database in which that stands must know one job and not two.
    public const string Job = "work-out-covers";

    /// <summary>Works out all that wait, oldest first, on one node at a time. One whose node died waits still, and is begun again.</summary>
    [DisableConcurrentExecution(timeoutInSeconds: 1)]
    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunDueAsync(CancellationToken cancel)
    {
        var due = await db.Set<Proposal>().Where(p => p.State == ProposalState.Working).OrderBy(p => p.AskedAt).Select(p => p.Id).ToListAsync(cancel);
        foreach (var id in due)
        {
            await RunAsync(id, cancel);
        }
    }

    public async Task RunAsync(Guid id, CancellationToken cancel)
    {
        if (await db.Set<Proposal>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel) is not { State: ProposalState.Working } proposal)
        {
            return;
        }

        var answer = await kinds.Single(rules => rules.Kind == proposal.Kind).WorkOnAsync(proposal, (done, of) => GoesOnAsync(id, done, of, cancel), cancel);
        await db.InTransactionAsync<Proposal>(
            async cancel =>
            {
                await db.LockAsync([MakeProposal.LockOf(id)], cancel);
                var row = await db.Set<Proposal>().SingleAsync(p => p.Id == id, cancel);
                if (row.State is ProposalState.Working)
                {
                    row.Propose(answer);
                }

                return row;
            },
            cancel);
    }

    private async Task<bool> GoesOnAsync(Guid id, int done, int of, CancellationToken cancel) =>
        await db.Set<Proposal>().Where(p => p.Id == id && p.State == ProposalState.Working)
            .ExecuteUpdateAsync(row => row.SetProperty(p => p.Done, done).SetProperty(p => p.Of, of), cancel) > 0;
}
