using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places.Contracts;

internal sealed record AreaCard(Guid Id, string Name, IReadOnlyList<string> Districts);

/// <summary>The areas of the school.</summary>
internal sealed class AreaBook(SchoolDb db, ReadOnce once)
{
    /// <summary>Held by whoever changes the areas, or says which of them somebody serves.</summary>
    public const string Lock = "areas";

    public Task<IReadOnlyList<AreaCard>> ListAsync(CancellationToken cancel) => once.GetAsync<IReadOnlyList<AreaCard>>("areas", async () =>
        (await db.Set<Area>().AsNoTracking().Include(a => a.Districts).OrderBy(a => a.Name).ToListAsync(cancel))
            .ConvertAll(a => new AreaCard(a.Id, a.Name, [.. a.Districts.Select(d => d.District).Order(StringComparer.Ordinal)])));

    public async Task<AreasByDistrict> ByDistrictAsync(CancellationToken cancel) => new(await ListAsync(cancel));

    /// <summary>The same, and of these places those that have a position alone.</summary>
    public async Task<AreasByDistrict> OfAsync(IEnumerable<Place> places, CancellationToken cancel) => await WithAsync(await ByDistrictAsync(cancel), places, cancel);

    /// <summary>Looks up in which district places lie that have a position alone; reads nothing where there is none such, or no area.</summary>
    public async Task<AreasByDistrict> WithAsync(AreasByDistrict areas, IEnumerable<Place> places, CancellationToken cancel)
    {
        Coordinates[] positions = areas.Any ? [.. places.Where(AreasByDistrict.GoesByPosition).Select(place => place.At()).Distinct()] : [];
        return positions.Length == 0 ? areas : areas.With(await NearestDistricts.OfAsync(db, positions, cancel));
    }
}

/// <summary>In which area a place lies: by its postcode, or by the nearest postcode where it has a position alone and was looked up.</summary>
internal sealed class AreasByDistrict
{
    private readonly Dictionary<string, AreaCard> _byDistrict;
    private readonly IReadOnlyDictionary<Coordinates, string> _districts;

    public AreasByDistrict(IReadOnlyList<AreaCard> areas)
        : this(areas.SelectMany(area => area.Districts.Select(district => (district, area))).ToDictionary(pair => pair.district, pair => pair.area), new Dictionary<Coordinates, string>())
    {
    }

    private AreasByDistrict(Dictionary<string, AreaCard> byDistrict, IReadOnlyDictionary<Coordinates, string> districts) => (_byDistrict, _districts) = (byDistrict, districts);

    public static AreasByDistrict None { get; } = new([]);

    public bool Any => _byDistrict.Count > 0;

    public static bool GoesByPosition(Place place) => place is { Postcode.Length: 0, IsFound: true };

    /// <param name="districts">Those of positions, as <see cref="NearestDistricts"/> finds them.</param>
    public AreasByDistrict With(IReadOnlyDictionary<Coordinates, string> districts) => new(_byDistrict, districts);

    public Guid? Of(Place place) => CardOf(place)?.Id;

    public AreaCard? CardOf(Place place) =>
        (GoesByPosition(place) ? _districts.GetValueOrDefault(place.At()) : place.Postcode.Split(' ')[0]) is { } district ? _byDistrict.GetValueOrDefault(district) : null;
}

/// <summary>Somebody who serves an area, and the page where that is said.</summary>
internal sealed record AreaServed(string Name, string Page);

/// <summary>Filled by whoever says that they serve an area: it is not removed under them.</summary>
internal interface IServeAreas
{
    /// <summary>Those who do, with the page where they say so.</summary>
    Task<IReadOnlyList<AreaServed>> WhoAsync(Guid areaId, CancellationToken cancel);
}
