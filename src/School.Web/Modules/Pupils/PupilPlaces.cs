using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>The places that a pupil named, for who may see the pupil.</summary>
internal sealed class PupilPlaces(SchoolDb db) : IKnowPlaces
{
    public async Task<IReadOnlyList<KnownPlace>> ListAsync(Guid? pupilId, Viewer viewer, CancellationToken cancel) =>
        pupilId is not { } id || (!viewer.SeesPupils && viewer.PupilId != id) ? []
            : (await db.Set<PupilPlace>().AsNoTracking().Where(p => p.PupilId == id).OrderBy(p => p.Id).ToListAsync(cancel)).ConvertAll(p => new KnownPlace(p.Id, p.At, Own: true));
}
