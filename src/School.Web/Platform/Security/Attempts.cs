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
    public async Task<bool> AllowAsync(string what, string subject, int most, Duration window, CancellationToken cancel)
    {
        var key = $"{what}:{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(subject.Trim().ToUpperInvariant())))}";
        var now = clock.GetCurrentInstant();
        var seconds = (long)window.TotalSeconds;
        var start = Instant.FromUnixTimeSeconds(now.ToUnixTimeSeconds() / seconds * seconds);
        var counts = await db.Database.SqlQuery<int>(
            $"""
             INSERT INTO platform.attempt_counts (key, window_start, count) VALUES ({key}, {start}, 1)
             ON CONFLICT (key, window_start) DO UPDATE SET count = platform.attempt_counts.count + 1
             RETURNING count AS "Value"
             """).ToListAsync(cancel);
        return counts.Single() <= most;
    }
}
