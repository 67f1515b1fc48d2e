using Hangfire.PostgreSql;
using Microsoft.EntityFrameworkCore;
using Npgsql;
using School.Web.Platform.Database;

namespace School.Web.Platform.Jobs;

/// <summary>Hangfire's tables, made and brought up to date by <c>migrate</c> like our own, so that a web node needs no right to change the schema.</summary>
internal sealed class JobSchema : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        await db.Database.OpenConnectionAsync(cancel);
        try
        {
            // The installer runs scripts of its own and knows nothing of a second node that starts in the same second.
            await db.Database.ExecuteSqlAsync($"SELECT pg_advisory_lock(hashtextextended('hangfire schema', 0))", cancel);
            PostgreSqlObjectsInstaller.Install((NpgsqlConnection)db.Database.GetDbConnection(), JobsSetup.Schema);
            await db.Database.ExecuteSqlAsync($"SELECT pg_advisory_unlock(hashtextextended('hangfire schema', 0))", cancel);
        }
        finally
        {
            await db.Database.CloseConnectionAsync();
        }
    }
}
