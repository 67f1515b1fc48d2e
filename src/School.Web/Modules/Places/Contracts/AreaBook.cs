using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places.Contracts;

internal sealed record AreaCard(Guid Id, string Name, IReadOnlyList<string> Districts);

/// <summary>The areas of the school.</summary>
internal sealed class AreaBook(SchoolDb db)
{
    public async Task<IReadOnlyList<AreaCard>> ListAsync(CancellationToken cancel) =>
        (await db.Set<Area>().AsNoTracking().Include(a => a.Districts).OrderBy(a => a.Name).ToListAsync(cancel))
            .ConvertAll(a => new AreaCard(a.Id, a.Name, [.. a.Districts.Select(d => d.District).Order(StringComparer.Ordinal)]));

    public async Task<AreasByDistrict> ByDistrictAsync(CancellationToken cancel) =>
        new(await db.Set<AreaDistrict>().AsNoTracking().ToDictionaryAsync(d => d.District, d => d.AreaId, cancel));
}

/// <summary>In which area a postcode lies.</summary>
internal sealed record AreasByDistrict(IReadOnlyDictionary<string, Guid> Areas)
{
    /// <param name="postcode">In its usual form, or a district alone.</param>
    public Guid? Of(string postcode) => Areas.TryGetValue(postcode.Split(' ')[0], out var area) ? area : null;
}
