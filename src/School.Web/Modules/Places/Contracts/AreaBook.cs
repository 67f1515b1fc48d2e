using Microsoft.EntityFrameworkCore;
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
}

/// <summary>In which area a postcode lies.</summary>
internal sealed class AreasByDistrict(IReadOnlyList<AreaCard> areas)
{
    private readonly Dictionary<string, AreaCard> _byDistrict =
        areas.SelectMany(area => area.Districts.Select(district => (district, area))).ToDictionary(pair => pair.district, pair => pair.area);

    public static AreasByDistrict None { get; } = new([]);

    /// <param name="postcode">In its usual form, or a district alone.</param>
    public Guid? Of(string postcode) => CardOf(postcode)?.Id;

    /// <param name="postcode">The same.</param>
    public AreaCard? CardOf(string postcode) => _byDistrict.GetValueOrDefault(postcode.Split(' ')[0]);
}

/// <summary>Filled by whoever says that they serve an area: it is not removed under them.</summary>
internal interface IServeAreas
{
    /// <summary>The names of those who do.</summary>
    Task<IReadOnlyList<string>> WhoAsync(Guid areaId, CancellationToken cancel);
}
