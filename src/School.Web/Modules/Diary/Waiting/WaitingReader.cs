using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Entries and offers that the viewer may see: an instructor those of the pupils whom they see, and offers of their own time.</summary>
internal sealed class WaitingReader(SchoolDb db, OwnPupils own)
{
    /// <summary>Who waits, longest first: after so many, at most so many.</summary>
    public async Task<List<WaitingEntry>> EntriesAsync(Viewer viewer, int after, int most, CancellationToken cancel) => await (await EntriesAsync(viewer, cancel))
        .Where(w => w.State == WaitingState.Waiting).OrderBy(w => w.Since).ThenBy(w => w.Id).Skip(after).Take(most).ToListAsync(cancel);

    public async Task<WaitingEntry?> EntryAsync(Guid id, Viewer viewer, CancellationToken cancel) => await (await EntriesAsync(viewer, cancel)).SingleOrDefaultAsync(w => w.Id == id, cancel);

    public async Task<List<OfferedSlot>> OffersAsync(Viewer viewer, int most, CancellationToken cancel) =>
        await (await OffersAsync(viewer, cancel)).OrderByDescending(o => o.OfferedAt).ThenBy(o => o.Id).Take(most).ToListAsync(cancel);

    public async Task<List<OfferedSlot>> OpenOffersAsync(Viewer viewer, CancellationToken cancel) =>
        await (await OffersAsync(viewer, cancel)).Where(o => o.State == OfferState.Open).OrderBy(o => o.StartsAt).ThenBy(o => o.Id).ToListAsync(cancel);

    public async Task<OfferedSlot?> OfferAsync(Guid id, Viewer viewer, CancellationToken cancel) => await (await OffersAsync(viewer, cancel)).SingleOrDefaultAsync(o => o.Id == id, cancel);

    public async Task<IQueryable<OfferedSlot>> OffersAsync(Viewer viewer, CancellationToken cancel)
    {
        var offers = db.Set<OfferedSlot>().AsNoTracking();
        return !viewer.ArrangesLessons ? offers.Where(o => o.PupilId == viewer.PupilId)
            : !viewer.KeepsDiary && await own.SeenAsync(viewer, cancel) is { } seen ? offers.Where(o => o.InstructorId == viewer.InstructorId || seen.Contains(o.PupilId))
            : offers;
    }

    private async Task<IQueryable<WaitingEntry>> EntriesAsync(Viewer viewer, CancellationToken cancel)
    {
        var entries = db.Set<WaitingEntry>().AsNoTracking();
        return !viewer.ArrangesLessons ? entries.Where(w => w.PupilId == viewer.PupilId)
            : !viewer.KeepsDiary && await own.SeenAsync(viewer, cancel) is { } seen ? entries.Where(w => seen.Contains(w.PupilId))
            : entries;
    }
}
