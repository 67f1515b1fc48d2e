using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Entries and offers that the viewer may see.</summary>
internal sealed class WaitingReader(SchoolDb db)
{
    public Task<List<WaitingEntry>> EntriesAsync(Viewer viewer, CancellationToken cancel) => db.Set<WaitingEntry>().AsNoTracking()
        .Where(w => w.State == WaitingState.Waiting && (viewer.IsStaff || w.PupilId == viewer.PupilId)).OrderBy(w => w.Since).ThenBy(w => w.Id).ToListAsync(cancel);

    public Task<WaitingEntry?> EntryAsync(Guid id, Viewer viewer, CancellationToken cancel) => db.Set<WaitingEntry>().AsNoTracking()
        .SingleOrDefaultAsync(w => w.Id == id && (viewer.IsStaff || w.PupilId == viewer.PupilId), cancel);

    public Task<List<OfferedSlot>> OffersAsync(Viewer viewer, int most, CancellationToken cancel) =>
        Offers(viewer).OrderByDescending(o => o.OfferedAt).ThenBy(o => o.Id).Take(most).ToListAsync(cancel);

    public Task<List<OfferedSlot>> OpenOffersAsync(Viewer viewer, CancellationToken cancel) =>
        Offers(viewer).Where(o => o.State == OfferState.Open).OrderBy(o => o.StartsAt).ThenBy(o => o.Id).ToListAsync(cancel);

    public Task<OfferedSlot?> OfferAsync(Guid id, Viewer viewer, CancellationToken cancel) => Offers(viewer).SingleOrDefaultAsync(o => o.Id == id, cancel);

    public IQueryable<OfferedSlot> Offers(Viewer viewer) =>
        db.Set<OfferedSlot>().AsNoTracking().Where(o => viewer.IsStaff || o.PupilId == viewer.PupilId);
}
