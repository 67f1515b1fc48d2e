using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places;

/// <summary>The places that the school knows, for anybody to choose.</summary>
internal sealed class SchoolPlaces(SchoolDb db) : IKnowPlaces
{
    public async Task<IReadOnlyList<KnownPlace>> ListAsync(Guid? pupilId, Viewer viewer, CancellationToken cancel) =>
        (await db.Set<SchoolPlace>().AsNoTracking().OrderBy(p => p.At.Label).Take(SchoolPlace.Most).ToListAsync(cancel)).ConvertAll(p => new KnownPlace(p.Id, p.At));
}
