using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>Finds kept proposals that somebody may see.</summary>
internal sealed class ProposalReader(SchoolDb db, DiaryVersions versions)
{
    /// <summary>What this person may see: the office all, an instructor their own and those of pupils, a pupil those about their own lessons.</summary>
    public IQueryable<Proposal> VisibleTo(Viewer viewer) => db.Set<Proposal>().AsNoTracking().Where(
        p => viewer.KeepsDiary || p.AskedBy == viewer.PersonId || (p.PupilId != null && p.PupilId == viewer.PupilId));

    public Task<Proposal?> FindAsync(Viewer viewer, Guid id, CancellationToken cancel, ProposalKind? kind = null) =>
        VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == id && (kind == null || p.Kind == kind), cancel);

    /// <summary>Its state as it is told: stale where the diary has changed since it was worked out.</summary>
    public async Task<ProposalState> StateAsync(Proposal proposal, CancellationToken cancel) =>
        proposal is { State: ProposalState.Proposed, Part: { } part } && await versions.MarkAsync(ProposalJson.Read<DiaryPart>(part), cancel) != proposal.Seen
            ? ProposalState.Stale
            : proposal.State;
}
