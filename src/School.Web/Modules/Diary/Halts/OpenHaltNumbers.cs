using School.Core;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Halts;

/// <summary>Why somebody needs the numbers of those whom a halt did not reach; stands in the audit, so nothing about health.</summary>
internal sealed record HaltNumbersRequest([property: Needed, AtMost(NumbersByReason.LongestReason)] string Reason);

/// <summary>
/// Opens, by one reason for the whole halt, the telephone numbers of its pupils on its list to ring: until midnight, to who gives it, and nothing else of them.
/// Whoever comes to stand on the list later that day is among them.
/// </summary>
internal sealed class OpenHaltNumbers(SchoolDb db, ProposalReader reader, HaltCalls calls, NumbersByReason numbers)
{
    private static readonly Refusal NotYet = Refusal.Rule("halt_not_carried_out", "There is nobody to ring before the lessons are stopped.");

    public Task<Outcome<Proposal>> RunAsync(Viewer viewer, Guid id, HaltNumbersRequest request, CancellationToken cancel) => db.InTransactionAsync<Proposal>(
        async cancel =>
        {
            await db.LockAsync([MakeProposal.LockOf(id)], cancel);
            if (await reader.FindAsync(viewer, id, cancel, ProposalKind.Halt) is not { } halt)
            {
                return Refusal.NotFound("proposal");
            }

            if (halt.State is not ProposalState.Applied)
            {
                return NotYet;
            }

            var concerned = await calls.ToOpenAsync(viewer, halt, cancel);
            return await numbers.OpenAsync(viewer, id, nameof(request.Reason), request.Reason, concerned, "ring about lessons that were stopped", cancel) is { } refusal ? refusal : halt;
        },
        cancel);
}
