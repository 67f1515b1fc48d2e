using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>A swap as somebody may see it.</summary>
/// <param name="Proposal">The swap.</param>
/// <param name="Answers">Of both pupils.</param>
/// <param name="Own">The answer that is theirs, where they are one of the pupils and not of the staff who see both.</param>
internal sealed record SeenSwap(Proposal Proposal, IReadOnlyList<SwapAnswer> Answers, SwapAnswer? Own)
{
    public SwapMore More => SwapRules.MoreOf(Proposal);

    /// <summary>What they see of it: a pupil their own line.</summary>
    public bool Shows(Guid lessonId) => Own is null || Own.LessonId == lessonId;
}

/// <summary>Finds swaps that somebody may see: staff as they see proposals, a pupil their own part, by sign-in or by the link of their letter.</summary>
internal sealed class SwapReader(SchoolDb db, ProposalReader proposals)
{
    public async Task<SeenSwap?> FindAsync(Viewer? viewer, Guid id, string? key, CancellationToken cancel)
    {
        var answers = await db.Set<SwapAnswer>().AsNoTracking().Where(a => a.ProposalId == id).ToListAsync(cancel);
        if (answers.Find(a => a.Opens(key)) is { } linked)
        {
            return await SeenAsync(id, answers, linked, cancel);
        }

        if (viewer is null)
        {
            return null;
        }

        return viewer.May(Permission.DriveTheDay) && await proposals.FindAsync(viewer, id, cancel, ProposalKind.Swap) is { } swap ? new(swap, answers, null)
            : viewer.May(Permission.SeeLessons) && answers.Find(a => a.PupilId == viewer.PupilId) is { } own ? await SeenAsync(id, answers, own, cancel)
            : null;
    }

    private async Task<SeenSwap> SeenAsync(Guid id, List<SwapAnswer> answers, SwapAnswer own, CancellationToken cancel) =>
        new(await db.Set<Proposal>().AsNoTracking().SingleAsync(p => p.Id == id, cancel), answers, own);
}
