using Microsoft.EntityFrameworkCore;
using School.Core.Diary.Slots;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Search;

/// <summary>Gives the school apart from its lessons: from memory where the database says that nothing has changed, else read anew.</summary>
internal sealed class StandingSchools(SchoolDb db, ReadOnce once, PictureLoader pictures, SchoolInfo school, SearchMemory shared)
{
    /// <summary>No version: this transaction has written something, so that what it sees may be undone.</summary>
    private const long Written = -1;

    /// <summary>As it was when it was last looked at, for what is asked again later.</summary>
    public async Task<StandingSchool> KnownAsync(CancellationToken cancel) => shared.School ?? await NowAsync(null, cancel);

    /// <summary>The version of the school as a part of what is read together.</summary>
    public Rows<long> Ask(ReadTogether together) => together.Ask(Version);

    /// <summary>As it is now.</summary>
    /// <param name="version">The version that was read last; null where none was.</param>
    /// <param name="cancel">Stops it.</param>
    public async Task<StandingSchool> NowAsync(Rows<long>? version, CancellationToken cancel)
    {
        var now = version is null ? (await Version.ToListAsync(cancel))[0] : version.All[0];
        // The version is read before what it stands for.
        once.Forget();
        var loaded = await pictures.StandingAsync(cancel);
        var standing = new StandingSchool(now, await school.GetAsync(cancel), loaded, new SearchGround(loaded.Picture.Rules, loaded.Picture.Zone, loaded.Travel));
        if (now != Written)
        {
            shared.School = standing;
        }

        return standing;
    }

    /// <summary>Whether what is seen now may be remembered: nothing that this transaction has written is among it.</summary>
    public async Task<bool> MayRememberAsync(CancellationToken cancel) =>
        db.Database.CurrentTransaction is null || (await Version.ToListAsync(cancel))[0] != Written;

    // A transaction has an id from its first write on.
    private IQueryable<long> Version => db.Database.SqlQuery<long>($"""
        SELECT CASE WHEN pg_current_xact_id_if_assigned() IS NULL
            THEN coalesce((SELECT version FROM diary.day_versions WHERE day = {DayVersion.Always} AND subject = {DayVersion.WholeSchool}), 0)
            ELSE {Written} END AS "Value"
        """);
}
