using School.Web.Modules.Diary.Mail;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>
/// What one kind of proposal knows: how it is worked out, what it locks and how its lines are carried out. All else is the same for
/// every kind: it is kept, told, found stale, dropped, carried out in one transaction, and its letters are sent.
/// </summary>
internal abstract class ProposalRules
{
    public abstract ProposalKind Kind { get; }

    /// <summary>Works it out; null where that takes longer than somebody waits, and then <see cref="WorkOnAsync"/> goes on.</summary>
    public abstract Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel);

    /// <summary>Works out what takes longer, telling how far it has come to whoever asks.</summary>
    public virtual Task<WorkedOut> WorkOnAsync(Proposal proposal, Func<int, int, Task<bool>> goesOn, CancellationToken cancel) => throw new NotSupportedException();

    /// <summary>Why who asks may not carry these lines out yet; asked under the locks, of what is not stale.</summary>
    public virtual Task<Refusal?> NotYetAsync(
        Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ApplyProposalRequest request, CancellationToken cancel) => Task.FromResult<Refusal?>(null);

    /// <summary>What else ends when it is dropped.</summary>
    public virtual Task DroppedAsync(Proposal proposal, CancellationToken cancel) => Task.CompletedTask;

    /// <summary>Takes the locks of all that the lines touch, together with others. Nothing is decided from what was read before.</summary>
    public abstract Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel);

    /// <summary>Carries lines out: all of them, or it refuses. What was done goes to <paramref name="made"/>, from which the letters are written.</summary>
    public abstract Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel);
}

/// <summary>What working it out came to; nothing yet where it takes longer.</summary>
internal sealed record Found(WorkedOut? Answer);
