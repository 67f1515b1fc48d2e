using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.School.Contracts;

/// <summary>What the other modules need to know of the school.</summary>
internal sealed record SchoolFacts(string Name, string Phone, string Email, DateTimeZone Zone, bool TwelveHourClock, string Nation, string Terms)
{
    /// <summary>The date it is now where the school is.</summary>
    public LocalDate Today(IClock clock) => clock.GetCurrentInstant().InZone(Zone).Date;
}

internal sealed class SchoolInfo(SchoolDb db)
{
    private SchoolFacts? _facts;

    /// <summary>Read once per request.</summary>
    public async Task<SchoolFacts> GetAsync(CancellationToken cancel)
    {
        if (_facts is null)
        {
            var row = await db.Set<SchoolProfile>().AsNoTracking().SingleAsync(cancel);
            _facts = new(row.Name, row.Phone, row.Email, DateTimeZoneProviders.Tzdb[row.Zone], row.TwelveHourClock, row.Nation, row.Terms);
        }

        return _facts;
    }
}
