using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Web.Platform.Database;

namespace School.Web.Modules.School.Contracts;

/// <summary>What the other modules need to know of the school.</summary>
internal sealed record SchoolFacts(string Name, string Phone, string Email, DateTimeZone Zone, bool TwelveHourClock, string Nation, string Terms)
{
    /// <summary>Whether a pupil belongs to the instructor with whom they usually learn, and not to the office.</summary>
    public bool PupilsBelongToInstructor { get; init; }

    /// <summary>What a school is called before anybody has said it.</summary>
    public const string Unnamed = "Our driving school";

    /// <summary>Whether it has a name of its own.</summary>
    public bool IsNamed => Name != Unnamed;

    /// <summary>Whether the rules of Great Britain are not those where the school is.</summary>
    public bool InNorthernIreland => Nation == NorthernIreland.Slug;

    /// <summary>Years after its registration from which a car needs an MOT certificate.</summary>
    public int FirstMotYears => InNorthernIreland ? CarFacts.FirstMotInNorthernIreland : CarFacts.FirstMotInGreatBritain;

    /// <summary>The date it is now where the school is.</summary>
    public LocalDate Today(IClock clock) => clock.GetCurrentInstant().InZone(Zone).Date;
}

/// <summary>Asked in nearly every request, so it is translated once for the life of the process.</summary>
internal sealed class SchoolQuery
{
    private readonly Func<SchoolDb, CancellationToken, Task<SchoolProfile>> _ask =
        EF.CompileAsyncQuery((SchoolDb db, CancellationToken _) => db.Set<SchoolProfile>().AsNoTracking().Single());

    public Task<SchoolProfile> ReadAsync(SchoolDb db, CancellationToken cancel) => _ask(db, cancel);
}

internal sealed class SchoolInfo(SchoolDb db, SchoolQuery query, ReadOnce once)
{
    private const string School = "school";

    public Task<SchoolFacts> GetAsync(CancellationToken cancel) => once.GetAsync(School, () => ReadAsync(cancel), noLock: true);

    /// <summary>What was read under the locks of this transaction.</summary>
    public void Give(SchoolFacts facts) => once.Give(School, facts);

    /// <summary>As a part of what is read together.</summary>
    public void Ahead(ReadTogether together) => once.Ahead(together, School, db.Set<SchoolProfile>().AsNoTracking(), rows => Facts(rows.Single()));

    private async Task<SchoolFacts> ReadAsync(CancellationToken cancel) => Facts(await query.ReadAsync(db, cancel));

    internal static SchoolFacts Facts(SchoolProfile row) =>
        new(row.Name, row.Phone, row.Email, DateTimeZoneProviders.Tzdb[row.Zone], row.TwelveHourClock, row.Nation, row.Terms)
        {
            PupilsBelongToInstructor = row.PupilsBelongToInstructor,
        };
}
