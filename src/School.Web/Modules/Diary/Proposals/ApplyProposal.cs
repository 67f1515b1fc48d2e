using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Web.Modules.Diary.Mail;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>Which lines to carry out, all when none are named; the others stay as they are. And that the pupils have agreed, where they are to be asked.</summary>
internal sealed record ApplyProposalRequest([property: Items(1, ApplyProposalRequest.MostLines)] IReadOnlyList<Guid>? Lines = null, bool Asked = false)
{
    public const int MostLines = 10_000;
}

/// <summary>
/// Carries a proposal of any kind out, all or in named lines, in one transaction: under the locks of all it touches, refused when the
/// diary has changed since it was worked out (then it is worked out anew), with one letter for each person.
/// </summary>
internal sealed class ApplyProposal(SchoolDb db, ProposalReader reader, MakeProposal make, DiaryVersions versions, ChangesMail mail, IEnumerable<ProposalRules> kinds)
{
    private const string NothingDone = "The diary has changed since this was worked out, so nothing was done.";

    public static readonly Refusal Stale = StaleAnd("It has been worked out again: look at it and carry it out then.");

    public async Task<Outcome<Proposal>> RunAsync(Viewer viewer, Guid id, ApplyProposalRequest request, int? expected, CancellationToken cancel)
    {
        var outcome = await db.InTransactionAsync<Proposal>(
            async cancel =>
            {
                var applied = await ApplyAsync(viewer, id, request, expected, cancel);
                return applied.Ok ? applied.Value.Proposal : applied.Refusal;
            },
            cancel);
        if (outcome.Ok || outcome.Refusal.Code != Stale.Code)
        {
            return outcome;
        }

        return await make.AgainAsync(viewer, id, cancel) is { } cannot ? StaleAnd(cannot.Telling) : outcome;
    }

    /// <summary>The same in a transaction of the caller's, who hears what was done. What was made a moment ago by the same act is not asked whether it is stale.</summary>
    public async Task<Outcome<AppliedProposal>> ApplyAsync(
        Viewer viewer, Guid id, ApplyProposalRequest request, int? expected, CancellationToken cancel, bool justMade = false)
    {
        if (await reader.FindAsync(viewer, id, cancel) is not { } before)
        {
            return Refusal.NotFound("proposal");
        }

        if (before.State is not ProposalState.Proposed)
        {
            return before.NotOpen();
        }

        var all = before.LinesOf();
        var errors = new FieldErrors()
            .When(request.Lines is { Count: 0 }, nameof(request.Lines), "Name at least one line, or leave lines out for all of them.")
            .When(request.Lines?.Count > ApplyProposalRequest.MostLines, nameof(request.Lines), $"Name at most {ApplyProposalRequest.MostLines} lines, or leave lines out for all of them.")
            .When(request.Lines?.Except(all.Select(line => line.Id)).Any() == true, nameof(request.Lines), "Not all of these lines are part of this proposal.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var lines = all.Where(line => request.Lines is not { } chosen || chosen.Contains(line.Id)).ToList();
        var kind = kinds.Single(rules => rules.Kind == before.Kind);
        await kind.LockAsync(before, lines, [MakeProposal.LockOf(id)], cancel);
        var taken = await db.Set<Proposal>().TakeAsync(id, expected, "proposal", cancel);
        if (taken is not { Ok: true, Value: { } proposal })
        {
            return taken.Refusal!;
        }

        if (!justMade && proposal.State is ProposalState.Proposed && (proposal.Seen != before.Seen || (proposal.Part is { } part && await versions.MarkAsync(ProposalJson.Read<DiaryPart>(part), cancel) != proposal.Seen)))
        {
            return Stale;
        }

        if ((proposal.State is ProposalState.Proposed ? await kind.NotYetAsync(viewer, proposal, lines, request, cancel) : null) is { } notYet)
        {
            return notYet;
        }

        if (proposal.Apply() is { } closed)
        {
            return closed;
        }

        var made = new ChangesMade();
        if (await kind.CarryOutAsync(viewer, proposal, lines, made, cancel) is { } refusal)
        {
            return refusal;
        }

        await mail.TellAsync(made, viewer, cancel);
        return new AppliedProposal(proposal, made);
    }

    private static Refusal StaleAnd(Telling next) => Refusal.Conflict(
        "proposal_stale", new Telling(NothingDone, NothingDone).Then(next));
}

/// <summary>A proposal that was carried out, and what was done.</summary>
internal sealed record AppliedProposal(Proposal Proposal, ChangesMade Made);
