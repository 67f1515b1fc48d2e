using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Platform.Security;

/// <summary>How often something was tried in a window; kept in the database so that every node counts the same.</summary>
internal sealed class AttemptCount
{
    /// <summary>What is counted, hashed: the table holds no address and no account in clear.</summary>
    public required string Key { get; init; }

    public required Instant WindowStart { get; init; }

    public int Count { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<AttemptCount>
    {
        public void Configure(EntityTypeBuilder<AttemptCount> entity)
        {
            entity.ToTable("attempt_counts", "platform");
            entity.HasKey(a => new { a.Key, a.WindowStart });
            entity.HasIndex(a => a.WindowStart);
        }
    }
}

internal sealed class Attempts(SchoolDb db, IClock clock)
{
    /// <summary>Counts one more try and says whether it is still within the limit for the window.</summary>
    public async Task<bool> AllowAsync(string what, string subject, int most, Duration window, CancellationToken cancel) =>
        await CountAsync(what, subject, window, cancel) <= most;

    /// <summary>Counts one more try and says how many there were in this window.</summary>
    /// <param name="what">What is tried.</param>
    /// <param name="subject">By whom or on what: an id, a network, or a name that is written in one way only.</param>
    /// <param name="window">How long a count lasts; windows begin at whole multiples of it.</param>
    /// <param name="cancel">Stops the question.</param>
    public async Task<int> CountAsync(string what, string subject, Duration window, CancellationToken cancel)
    {
        var (key, start) = Counter(what, subject, window);
        var counts = await db.AloneAsync(
            () => db.Database.SqlQuery<int>(
                $"""
                 INSERT INTO platform.attempt_counts (key, window_start, count) VALUES ({key}, {start}, 1)
                 ON CONFLICT (key, window_start) DO UPDATE SET count = platform.attempt_counts.count + 1
                 RETURNING count AS "Value"
                 """).ToListAsync(cancel),
            cancel);
        return counts.Single();
    }

    /// <summary>Takes back one try that turned out to be rightful.</summary>
    public Task GiveBackAsync(string what, string subject, Duration window, CancellationToken cancel)
    {
        var (key, start) = Counter(what, subject, window);
        return db.AloneAsync(
            () => db.Database.ExecuteSqlAsync(
                $"UPDATE platform.attempt_counts SET count = count - 1 WHERE key = {key} AND window_start = {start} AND count > 0", cancel),
            cancel);
    }

    /// <summary>Forgets every try in this window, once somebody has shown in another way who they are.</summary>
    public Task ForgetAsync(string what, string subject, Duration window, CancellationToken cancel)
    {
        var (key, start) = Counter(what, subject, window);
        return db.AloneAsync(
            () => db.Database.ExecuteSqlAsync($"DELETE FROM platform.attempt_counts WHERE key = {key} AND window_start = {start}", cancel), cancel);
    }

    /// <summary>How long it is until a window ends and counting begins anew.</summary>
    public Duration LeftOf(Duration window) => StartOf(window) + window - clock.GetCurrentInstant();

    private (string Key, Instant Start) Counter(string what, string subject, Duration window) =>
        ($"{what}:{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(subject)))}", StartOf(window));

    private Instant StartOf(Duration window)
    {
        var seconds = (long)window.TotalSeconds;
        return Instant.FromUnixTimeSeconds(clock.GetCurrentInstant().ToUnixTimeSeconds() / seconds * seconds);
    }
}
