using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>Which kind, what is asked for, and whose lessons they are where they are one pupil's.</summary>
internal sealed record ProposalAsked(ProposalKind Kind, object Request, Guid? PupilId = null);

/// <summary>Works a proposal of any kind out and keeps it. Changes nothing else.</summary>
internal sealed class MakeProposal(SchoolDb db, IEnumerable<ProposalRules> kinds, IClock clock)
{
    public Task<Outcome<Proposal>> RunAsync(Viewer viewer, ProposalAsked asked, CancellationToken cancel) =>
        db.InTransactionAsync<Proposal>(cancel => AddAsync(viewer, asked, cancel), cancel);

    /// <summary>The same in the caller's transaction.</summary>
    public async Task<Outcome<Proposal>> AddAsync(Viewer viewer, ProposalAsked asked, CancellationToken cancel)
    {
        var proposal = new Proposal
        {
            Kind = asked.Kind,
            Ask = ProposalJson.Write(asked.Request),
            AskedBy = viewer.PersonId,
            AskedAt = clock.GetCurrentInstant(),
            PupilId = asked.PupilId,
        };
        var found = await WorkOutAsync(viewer, proposal, cancel);
        if (!found.Ok)
        {
            return found.Refusal;
        }

        if (found.Value.Answer is { } answer)
        {
            proposal.Propose(answer);
        }

        db.Add(proposal);
        await db.SaveChangesAsync(cancel);
        return proposal;
    }

    /// <summary>Works it out anew, since the diary has changed. Where that cannot be done, it stays as it was, and the answer says why.</summary>
    public async Task<Refusal?> AgainAsync(Viewer viewer, Guid id, CancellationToken cancel) => (await db.InTransactionAsync<Proposal>(
        async cancel =>
        {
            await db.LockAsync([LockOf(id)], cancel);
            var before = await db.Set<Proposal>().AsNoTracking().SingleAsync(p => p.Id == id, cancel);
            if (before.State is not ProposalState.Proposed)
            {
                return before.NotOpen();
            }

            var found = await WorkOutAsync(viewer, before, cancel);
            if (!found.Ok)
            {
                return found.Refusal;
            }

            // Taken only now: looking may try things out and undo them, and what is tracked then is forgotten.
            var proposal = await db.Set<Proposal>().SingleAsync(p => p.Id == id, cancel);
            if (found.Value.Answer is { } answer)
            {
                proposal.Propose(answer);
            }

            return proposal;
        },
        cancel)).Refusal;

    public static string LockOf(Guid id) => $"proposal:{id}";

    private Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel) =>
        kinds.Single(rules => rules.Kind == proposal.Kind).WorkOutAsync(viewer, proposal, cancel);
}
