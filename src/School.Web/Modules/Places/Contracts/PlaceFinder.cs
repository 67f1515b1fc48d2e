using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places.Contracts;

/// <summary>A postcode of the list, with the quality that the file gives it.</summary>
internal sealed record FoundPostcode(string Postcode, Coordinates At, int Quality);

/// <summary>Finds where a place lies: by its postcode, or among those that are known.</summary>
internal sealed class PlaceFinder(SchoolDb db, IEnumerable<IKnowPlaces> known)
{
    public async Task<FoundPostcode?> PostcodeAsync(Postcode postcode, CancellationToken cancel)
    {
        var text = postcode.ToString();
        return await db.Set<PostcodeRow>().AsNoTracking().SingleOrDefaultAsync(p => p.Postcode == text, cancel) is { } row
            ? new(row.Postcode, row.At(), row.Quality)
            : null;
    }

    /// <summary>Where a district has its middle; null when the list has none of its postcodes.</summary>
    public async Task<Coordinates?> MiddleAsync(PostcodeDistrict district, CancellationToken cancel)
    {
        var text = district.Text;
        return await db.Set<DistrictRow>().AsNoTracking().SingleOrDefaultAsync(d => d.District == text, cancel) is { } row ? new(row.Latitude, row.Longitude) : null;
    }

    /// <summary>The area that a postcode, or a district alone, lies in.</summary>
    public async Task<Guid?> AreaOfAsync(string postcode, CancellationToken cancel)
    {
        var district = postcode.Split(' ')[0];
        return await db.Set<AreaDistrict>().AsNoTracking().Where(d => d.District == district).Select(d => (Guid?)d.AreaId).SingleOrDefaultAsync(cancel);
    }

    /// <summary>The places that can be chosen with one press: the pupil's own first, then the school's.</summary>
    public async Task<IReadOnlyList<KnownPlace>> KnownAsync(Guid? pupilId, Viewer viewer, CancellationToken cancel)
    {
        var all = new List<KnownPlace>();
        foreach (var source in known.Reverse())
        {
            all.AddRange(await source.ListAsync(pupilId, viewer, cancel));
        }

        return all;
    }

    /// <summary>What was sent together with where it lies, as far as that can be looked up; what it comes to is decided where it is read.</summary>
    public async Task<PlaceInput?> LookAsync(PlaceInput? input, Guid? pupilId, Viewer viewer, CancellationToken cancel)
    {
        if (input is null)
        {
            return null;
        }

        if (input.PlaceId is { } id)
        {
            var chosen = (await KnownAsync(pupilId, viewer, cancel)).FirstOrDefault(place => place.Id == id)?.At;
            return input with { Found = chosen is null ? PlaceFound.Gone : PlaceFound.Known(chosen) };
        }

        var whole = Postcode.TryParse(input.Postcode, out var postcode, out _);
        if (!whole && !(input.LeftOpen && PostcodeDistrict.TryParse(input.Postcode, out _, out _)))
        {
            return input;
        }

        if (whole && await PostcodeAsync(postcode!, cancel) is { } found)
        {
            return input with { Found = PlaceFound.ByPostcode(found.At, found.Quality >= CodePoint.Rough) with { Middle = await MiddleOfAsync(input, cancel) } };
        }

        var middle = await MiddleOfAsync(input, cancel);
        return input with { Found = new(null, await WhyNotAsync(input, postcode, cancel)) { Middle = middle } };
    }

    private async Task<Coordinates?> MiddleOfAsync(PlaceInput input, CancellationToken cancel)
    {
        if (!input.LeftOpen)
        {
            return null;
        }

        var district = Postcode.TryParse(input.Postcode, out var postcode, out _) ? PostcodeDistrict.Of(postcode)
            : PostcodeDistrict.TryParse(input.Postcode, out var alone, out _) ? alone : null;
        return district is null ? null : await MiddleAsync(district, cancel);
    }

    private async Task<string> WhyNotAsync(PlaceInput input, Postcode? postcode, CancellationToken cancel)
    {
        var (text, district) = (postcode?.ToString() ?? input.Postcode!.Trim().ToUpperInvariant(), postcode is null ? null : PostcodeDistrict.Of(postcode));
        return district?.InNorthernIreland == true || text.StartsWith("BT", StringComparison.Ordinal)
                ? "The list of postcodes leaves Northern Ireland out. Choose the place on the map, or enter latitude and longitude."
            : !await db.Set<PostcodeSet>().AnyAsync(cancel)
                ? "The school has loaded no postcodes yet, so the place is not found by its postcode. Choose it on the map, or enter latitude and longitude."
            : $"{text} is not on the list of postcodes. Check it, choose the place on the map, or enter latitude and longitude.";
    }
}
