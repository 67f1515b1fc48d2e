using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Postcodes;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places;

/// <summary>Postcodes, so that nobody types latitude and longitude.</summary>
internal sealed class PlaceSteps(SchoolDb db) : IFirstSteps
{
    public async Task<IReadOnlyList<FirstStep>> ListAsync(string address, CancellationToken cancel) =>
    [
        await db.Set<PostcodeSet>().AnyAsync(cancel)
            ? new("postcodes", 35, true, "Postcodes", "They are loaded: a place is found by its postcode.", "", PostcodesModel.Path) { CanWait = true }
            : new("postcodes", 35, false, "Postcodes", "None are loaded. Until then a place is given by the map, by where you are, or by latitude and longitude; in Northern Ireland always.", "Load them", PostcodesModel.Path) { CanWait = true },
    ];
}
