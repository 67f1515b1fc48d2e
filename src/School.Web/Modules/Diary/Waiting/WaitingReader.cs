using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Entries and offers that the viewer may see.</summary>
internal sealed class WaitingReader(SchoolDb db)
{
    /// <summary>Who waits, longest first: after so many, at most so many.</summary>
    public Task<List<WaitingEntry>> EntriesAsync(Viewer viewer, int after, int most, CancellationToken cancel) => Entries(viewer)
        .Where(w => w.State == WaitingState.Waiting).OrderBy(w => w.Since).ThenBy(w => w.Id).Skip(after).Take(most).ToListAsync(cancel);

    public Task<WaitingEntry?> EntryAsync(Guid id, Viewer viewer, CancellationToken cancel) => Entries(viewer).SingleOrDefaultAsync(w => w.Id == id, cancel);

    public Task<List<OfferedSlot>> OffersAsync(Viewer viewer, int most, CancellationToken cancel) =>
        Offers(viewer).OrderByDescending(o => o.OfferedAt).ThenBy(o => o.Id).Take(most).ToListAsync(cancel);

    public Task<List<OfferedSlot>> OpenOffersAsync(Viewer viewer, CancellationToken cancel) =>
        Offers(viewer).Where(o => o.State == OfferState.Open).OrderBy(o => o.StartsAt).ThenBy(o => o.Id).ToListAsync(cancel);

    public Task<OfferedSlot?> OfferAsync(Guid id, Viewer viewer, CancellationToken cancel) => Offers(viewer).SingleOrDefaultAsync(o => o.Id == id, cancel);

    public IQueryable<OfferedSlot> Offers(Viewer viewer)
    {
        var offers = db.Set<OfferedSlot>().AsNoTracking();
        return viewer.ArrangesLessons ? offers : offers.Where(o => o.PupilId == viewer.PupilId);
    }

    private IQueryable<WaitingEntry> Entries(Viewer viewer)
    {
        var entries = db.Set<WaitingEntry>().AsNoTracking();
        return viewer.ArrangesLessons ? entries : entries.Where(w => w.PupilId == viewer.PupilId);
    }
}
