using Hangfire;
using Hangfire.AspNetCore;
using Hangfire.Dashboard;
using Hangfire.PostgreSql;
using Hangfire.PostgreSql.Factories;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Platform.Jobs;

/// <summary>Hangfire on the one database: modules name their recurring jobs, the office sees them at /hangfire.</summary>
internal static class JobsSetup
{
    public const string Schema = "hangfire";

    /// <summary>Says whether this node runs jobs; a node that does not still shows them.</summary>
    public const string RunJobs = "School:RunJobs";

    private const string Dashboard = "/hangfire";

    /// <summary>Two are enough for mail, and leave the processors to the pages.</summary>
    private const int Workers = 2;

    private static readonly PostgreSqlStorageOptions Storage = new()
    {
        SchemaName = Schema,
        PrepareSchemaIfNecessary = false,
        // A job may last longer than the invisibility: it stays invisible as long as its worker lives.
        UseSlidingInvisibilityTimeout = true,
        QueuePollInterval = TimeSpan.FromSeconds(5),
    };

    public static IServiceCollection AddJobs(this IServiceCollection services, IConfiguration configuration, string connectionString)
    {
        // Registered before Hangfire's own, which is one for the whole process: here each host has its own.
        services.AddSingleton<JobStorage>(_ => new PostgreSqlStorage(new NpgsqlConnectionFactory(connectionString, Storage), Storage)
        {
            JobExpirationTimeout = TimeSpan.FromHours(1),
        });
        services.AddSingleton<JobActivator>(provider => new AspNetCoreJobActivator(provider.GetRequiredService<IServiceScopeFactory>()));
        services.AddScoped<IModuleDefaults, JobSchema>();
        var runs = configuration.GetValue(RunJobs, true);
        if (!runs)
        {
            // Hangfire's configuration would set its log, which is one for the whole process too: leave that to who runs jobs.
            services.AddSingleton<IGlobalConfiguration>(GlobalConfiguration.Configuration);
        }

        services.AddHangfire(_ => { });
        if (runs)
        {
            services.AddHostedService<RecurringJobs>();
            services.AddHangfireServer(options =>
            {
                options.WorkerCount = Workers;
                options.SchedulePollingInterval = TimeSpan.FromSeconds(5);
            });
        }

        return services;
    }

    /// <summary>Names a job that runs again and again on one of the nodes; <paramref name="cron"/> may begin with seconds.</summary>
    public static IServiceCollection AddRecurringJob<T>(
        this IServiceCollection services, string name, string cron, System.Linq.Expressions.Expression<Func<T, Task>> work) =>
        services.AddSingleton(new RecurringJobName(name, CronPeriod.Of(cron), jobs => jobs.AddOrUpdate(name, work, cron)));

    public static void MapJobs(this IEndpointRouteBuilder app) =>
        app.MapHangfireDashboard(Dashboard, new DashboardOptions
        {
            Authorization = [new MayRunJobs()],
            AppPath = "/",
            DashboardTitle = "Jobs",
            DisplayStorageConnectionString = false,
        }).Needs(Permission.RunJobs);

    /// <summary>The policy of the route decides already; this is asked too, should the dashboard be mapped in another way.</summary>
    private sealed class MayRunJobs : IDashboardAuthorizationFilter
    {
        public bool Authorize(DashboardContext context) => Viewer.From(context.GetHttpContext().User)?.May(Permission.RunJobs) == true;
    }
}
