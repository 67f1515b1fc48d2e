using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Keys;

namespace School.Web.Platform.Database;

internal static class DatabaseSetup
{
    public static IServiceCollection AddDatabase(this IServiceCollection services, string connectionString) =>
        services.AddSingleton<SlowStatements>()
            .AddDbContextPool<SchoolDb>((provider, options) => SchoolDbFactory.Configure(options, ConnectionReuse.Of(connectionString))
                .AddInterceptors(provider.GetRequiredService<SlowStatements>()))
            .AddScoped<ReadOnce>();

    /// <summary>Brings the schema up to date, fills in the defaults that a module needs before its first page, and sees to the keys.</summary>
    /// <returns>How it stands with the keys: a schema can be brought up to date without them, a school cannot work.</returns>
    /// <exception cref="CannotStartException">It cannot, and nothing was changed.</exception>
    public static async Task<KeysState> MigrateAsync(this IServiceProvider services, DatabaseConnections connections, CancellationToken cancel)
    {
        await BeforeMigrating.EnsureDatabaseAsync(connections.Owner, cancel);
        await using var db = new SchoolDb((DbContextOptions<SchoolDb>)SchoolDbFactory.Configure(new DbContextOptionsBuilder<SchoolDb>(), connections.Owner).Options);
        await BeforeMigrating.RefuseHalfwayAsync(db, cancel);
        // A migration may rewrite whole tables, and waits for another node's.
        db.Database.SetCommandTimeout(TimeSpan.FromMinutes(30));
        await db.Database.MigrateAsync(cancel);
        await using var scope = services.CreateAsyncScope();
        foreach (var defaults in scope.ServiceProvider.GetServices<IModuleDefaults>())
        {
            await defaults.AddMissingAsync(db, cancel);
        }

        await db.SaveChangesAsync(cancel);
        // After them, since defaults make tables too: those of the jobs.
        await ServiceRights.GrantAsync(connections, cancel);
        return await scope.ServiceProvider.BringKeysUpToDateAsync(cancel);
    }
}

/// <summary>Rows that a module cannot do without (settings, holidays); added where missing, never overwritten.</summary>
internal interface IModuleDefaults
{
    Task AddMissingAsync(SchoolDb db, CancellationToken cancel);
}
