using NodaTime;
using School.Core.Travel;
using School.Web.Modules.Places;

namespace School.Web.Demo.Scale;

/// <summary>The town's postcodes, and the places and areas of the school, as <see cref="DemoPlaces"/> has them.</summary>
internal static class ScalePlaces
{
    /// <returns>The areas, in their order there.</returns>
    public static IReadOnlyList<Area> Add(ScaleRows rows, ScaleIds ids, Instant at)
    {
        var lines = File.ReadLines(DemoPlaces.File).Select(line => CodePoint.Read(line, CodePointColumns.Published, out var point, out var problem) is CodePointKind.Taken
            ? new PostcodeRow { Postcode = point.Postcode, Latitude = point.At.Latitude, Longitude = point.At.Longitude, Quality = (short)point.Quality }
            : throw new InvalidDataException(problem)).ToList();
        lines.ForEach(line => rows.Add(line));
        var districts = lines.GroupBy(line => line.Postcode.Split(' ')[0]).ToList();
        foreach (var district in districts)
        {
            rows.Add(new DistrictRow { District = district.Key, Latitude = district.Average(d => d.Latitude), Longitude = district.Average(d => d.Longitude), Postcodes = district.Count() });
        }

        rows.Add(new PostcodeSet { Name = Path.GetFileName(DemoPlaces.File), LoadedAt = at, Postcodes = lines.Count, Roughly = 0, LeftOut = 0, Districts = districts.Count });
        foreach (var (kind, place) in DemoPlaces.Known)
        {
            rows.Add(new SchoolPlace { Id = ids.Next(at), Kind = kind, At = place });
        }

        var areas = new List<Area>();
        foreach (var (name, of) in DemoPlaces.Areas)
        {
            var area = rows.Add(new Area { Id = ids.Next(at), Name = name });
            Array.ForEach(of, district => rows.Add(new AreaDistrict { District = district, AreaId = area.Id }));
            areas.Add(area);
        }

        return areas;
    }
}
