using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places;

/// <summary>Finds the districts of positions that have no postcode: that of the nearest postcode within <see cref="Postcode.ReachMetres"/>.</summary>
internal static class NearestDistricts
{
    /// <summary>Where postcodes are dense the nearest is this near, and only some hundreds are looked at.</summary>
    private const double NearMetres = 500;

    private const double MetresADegree = Coordinates.EarthRadiusMetres * Math.PI / 180;

    /// <summary>The district of each position; a position that has no postcode near is left out.</summary>
    public static async Task<IReadOnlyDictionary<Coordinates, string>> OfAsync(SchoolDb db, IReadOnlyList<Coordinates> positions, CancellationToken cancel)
    {
        var numbers = Enumerable.Range(0, positions.Count).ToArray();
        double[] latitudes = [.. positions.Select(at => at.Latitude)], longitudes = [.. positions.Select(at => at.Longitude)];
        double near = NearMetres / MetresADegree, far = Postcode.ReachMetres / MetresADegree;

        // A degree of longitude shrinks towards the poles. The far look is left out where the near one found something.
        var found = await db.Database.SqlQuery<Nearest>($"""
            SELECT asked.number AS "Number", coalesce(close.postcode, away.postcode) AS "Postcode"
            FROM (SELECT number, latitude, longitude, greatest(cos(radians(latitude)), 0.01) AS shrink
                FROM unnest({numbers}, {latitudes}, {longitudes}) AS given (number, latitude, longitude)) AS asked
            LEFT JOIN LATERAL (
                SELECT p.postcode FROM places.postcodes AS p
                WHERE p.latitude BETWEEN asked.latitude - {near} AND asked.latitude + {near}
                    AND p.longitude BETWEEN asked.longitude - {near} / shrink AND asked.longitude + {near} / shrink
                    AND (p.latitude - asked.latitude) ^ 2 + ((p.longitude - asked.longitude) * shrink) ^ 2 <= {near} ^ 2
                ORDER BY (p.latitude - asked.latitude) ^ 2 + ((p.longitude - asked.longitude) * shrink) ^ 2, p.postcode LIMIT 1) AS close ON true
            LEFT JOIN LATERAL (
                SELECT p.postcode FROM places.postcodes AS p
                WHERE close.postcode IS NULL
                    AND p.latitude BETWEEN asked.latitude - {far} AND asked.latitude + {far}
                    AND p.longitude BETWEEN asked.longitude - {far} / shrink AND asked.longitude + {far} / shrink
                    AND (p.latitude - asked.latitude) ^ 2 + ((p.longitude - asked.longitude) * shrink) ^ 2 <= {far} ^ 2
                ORDER BY (p.latitude - asked.latitude) ^ 2 + ((p.longitude - asked.longitude) * shrink) ^ 2, p.postcode LIMIT 1) AS away ON true
            WHERE coalesce(close.postcode, away.postcode) IS NOT NULL
            """).ToListAsync(cancel);
        return found.ToDictionary(one => positions[one.Number], one => one.Postcode.Split(' ')[0]);
    }

    private sealed class Nearest
    {
        public int Number { get; init; }

        public string Postcode { get; init; } = "";
    }
}
