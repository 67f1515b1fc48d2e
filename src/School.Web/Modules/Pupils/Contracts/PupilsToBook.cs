using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>A pupil to book for, with where they are usually picked up and the places that they named.</summary>
internal sealed record PupilToBook(Guid Id, string Name, Place PickUp, IReadOnlyList<KnownPlace> Places);

/// <summary>Those whom somebody of the staff most likely books for: an instructor's own pupils, and for the office those who came last.</summary>
internal sealed class PupilsToBook(SchoolDb db, OwnPupils sight)
{
    public const int Most = 40;

    public async Task<IReadOnlyList<PupilToBook>> ListAsync(Viewer viewer, CancellationToken cancel)
    {
        var learning = db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).Where(p => p.RetiredOn == null);
        var likely = viewer.InstructorId is { } own
            ? learning.Where(p => p.UsualInstructorId == own).OrderBy(p => p.Name).ThenBy(p => p.Id)
            : learning.OrderByDescending(p => p.Id);
        var rows = await likely.Take(Most).Select(p => new { p.Id, p.Name, p.PickUp }).ToListAsync(cancel);
        if (rows.Count == 0)
        {
            return [];
        }

        var ids = rows.ConvertAll(p => p.Id);
        var places = (await db.Set<PupilPlace>().AsNoTracking().Where(p => ids.Contains(p.PupilId)).OrderBy(p => p.Id).ToListAsync(cancel)).ToLookup(p => p.PupilId);
        // Who usually learn with the viewer are seen by them.
        var sees = viewer.InstructorId is null ? await sight.OfAsync(viewer, ids, cancel) : null;
        return rows.ConvertAll(p => sees is not null && sees[p.Id] == Sight.Name ? new PupilToBook(p.Id, p.Name, Place.Unknown, [])
            : new PupilToBook(p.Id, p.Name, p.PickUp, [.. places[p.Id].Select(place => new KnownPlace(place.Id, place.At, Own: true))]));
    }
}
