using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>Drops a proposal, also one that is still being worked out: its job notices and ends.</summary>
internal sealed class DropProposal(SchoolDb db, ProposalReader reader, IEnumerable<ProposalRules> kinds)
{
    public Task<Outcome<Proposal>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => db.InTransactionAsync<Proposal>(
        async cancel =>
        {
            if (await reader.FindAsync(viewer, id, cancel) is null)
            {
                return Refusal.NotFound("proposal");
            }

            await db.LockAsync([MakeProposal.LockOf(id)], cancel);
            var proposal = await db.Set<Proposal>().SingleAsync(p => p.Id == id, cancel);
            if (proposal.Stop() is { } refusal)
            {
                return refusal;
            }

            await kinds.Single(rules => rules.Kind == proposal.Kind).DroppedAsync(proposal, cancel);
            return proposal;
        },
        cancel);
}
