using Microsoft.EntityFrameworkCore;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout.Map;

namespace School.Web.Modules.Places;

/// <summary>What a map without tiles draws: the places of the school. A place that is to be found lies nowhere, so it is left out.</summary>
internal static class Ground
{
    internal sealed record Dot(string Label, double Latitude, double Longitude);

    public static void MapGround(this IEndpointRouteBuilder app) =>
        app.MapGet(PlaceMap.Ground, ListAsync).Needs(Permission.SeeLessons).ExcludeFromDescription();

    private static async Task<IResult> ListAsync(SchoolDb db, CancellationToken cancel) => Results.Json(
        await db.Set<SchoolPlace>().AsNoTracking().OrderBy(p => p.At.Label).Take(SchoolPlace.Most)
            .Where(p => p.At.Certainty != PlaceCertainty.ToBeFound)
            .Select(p => new Dot(p.At.Label, p.At.Latitude, p.At.Longitude)).ToListAsync(cancel));
}
