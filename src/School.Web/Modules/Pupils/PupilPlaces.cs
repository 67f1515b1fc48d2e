using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>The places that a pupil named, for who may see the pupil.</summary>
internal sealed class PupilPlaces(SchoolDb db, OwnPupils own) : IKnowPlaces
{
    public async Task<IReadOnlyList<KnownPlace>> ListAsync(Guid? pupilId, Viewer viewer, CancellationToken cancel)
    {
        if (pupilId is not { } id || (!viewer.SeesPupils && viewer.PupilId != id))
        {
            return [];
        }

        var places = db.Set<PupilPlace>().AsNoTracking().Where(p => p.PupilId == id);
        if (await own.SeenAsync(viewer, cancel) is { } seen)
        {
            places = places.Where(p => seen.Contains(p.PupilId));
        }

        return (await places.OrderBy(p => p.Id).ToListAsync(cancel)).ConvertAll(p => new KnownPlace(p.Id, p.At, Own: true));
    }
}
