using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel.Routing;

/// <summary>How the routing server is doing; one row that all nodes share.</summary>
internal sealed class RoutingHealth
{
    public const int Only = 1;

    public int Id { get; init; } = Only;

    /// <summary>In a row, since the last good answer.</summary>
    public int Failures { get; set; }

    public Instant? FailingSince { get; set; }

    public string Reason { get; set; } = "";

    /// <summary>Not asked until then; null while it is asked as usual.</summary>
    public Instant? PausedUntil { get; set; }

    /// <summary>Two places of the question that failed last, to try the server with.</summary>
    public long TrialFrom { get; set; }

    public long TrialTo { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<RoutingHealth>
    {
        public void Configure(EntityTypeBuilder<RoutingHealth> entity)
        {
            entity.ToTable("routing_health", "travel");
            entity.Property(health => health.Id).ValueGeneratedNever();
        }
    }
}

/// <summary>
/// Circuit breaker that all nodes share: after three failures in a row the server is left alone for a minute, then one question
/// is let through, and its fate decides. Every change commits by itself, whatever becomes of the request that asked.
/// </summary>
internal sealed class RoutingBreaker(IServiceScopeFactory scopes, IClock clock)
{
    public const int FailuresAllowed = 3;

    public static readonly Duration Pause = Duration.FromMinutes(1);

    public Task<RoutingHealth> ReadAsync(CancellationToken cancel) =>
        WithHealthAsync(async rows => await rows.AsNoTracking().SingleOrDefaultAsync(cancel) ?? new());

    /// <summary>Whether to ask now. After a pause only one asker of all nodes hears yes.</summary>
    public async Task<bool> MayAskAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        if ((await ReadAsync(cancel)).PausedUntil is not { } until)
        {
            return true;
        }

        return until <= now && await WithHealthAsync(rows => rows.Where(h => h.PausedUntil <= now)
            .ExecuteUpdateAsync(set => set.SetProperty(h => h.PausedUntil, now + Pause), cancel)) == 1;
    }

    public Task FailedAsync(string reason, (Cell From, Cell To) trial, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        Instant? until = now + Pause;
        return WithHealthAsync(rows => rows.ExecuteUpdateAsync(
            set => set.SetProperty(h => h.Failures, h => h.Failures + 1)
                .SetProperty(h => h.FailingSince, h => h.FailingSince ?? now)
                .SetProperty(h => h.Reason, reason)
                .SetProperty(h => h.PausedUntil, h => h.Failures + 1 >= FailuresAllowed ? until : h.PausedUntil)
                .SetProperty(h => h.TrialFrom, trial.From.Number)
                .SetProperty(h => h.TrialTo, trial.To.Number),
            cancel));
    }

    public Task AnsweredAsync(CancellationToken cancel) => WithHealthAsync(rows => rows.Where(h => h.Failures > 0).ExecuteUpdateAsync(
        set => set.SetProperty(h => h.Failures, 0)
            .SetProperty(h => h.FailingSince, (Instant?)null)
            .SetProperty(h => h.Reason, "")
            .SetProperty(h => h.PausedUntil, (Instant?)null),
        cancel));

    private async Task<T> WithHealthAsync<T>(Func<IQueryable<RoutingHealth>, Task<T>> work)
    {
        await using var scope = scopes.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<SchoolDb>();
        return await db.AloneAsync(() => work(db.Set<RoutingHealth>()), CancellationToken.None);
    }
}
