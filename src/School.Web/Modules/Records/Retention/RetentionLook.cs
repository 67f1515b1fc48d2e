using System.Data.Common;
using System.Globalization;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records.Retention;

/// <summary>A kind as it stands now.</summary>
/// <param name="Rule">Its rule.</param>
/// <param name="Days">For how long it is kept.</param>
/// <param name="Standing">How many there are.</param>
/// <param name="Estimated">There are so many that they were not counted, only reckoned by the database.</param>
/// <param name="Due">How many the next run takes, as things are.</param>
internal sealed record KindNow(RetentionRule Rule, int Days, long Standing, bool Estimated, long Due);

/// <summary>Room that a part of the database takes.</summary>
internal sealed record PartSize(string Words, long Octets);

/// <summary>What is kept, what would go, and what room it takes.</summary>
internal sealed class RetentionLook(SchoolDb db, RetentionPeriods periods, IClock clock)
{
    private const int Counted = 10_000;

    private static readonly Dictionary<string, string> Parts = new(StringComparer.Ordinal)
    {
        ["messages"] = "Letters",
        ["diary"] = "Lessons and the diary",
        ["syllabus"] = "Learning",
        ["people"] = "The school, people and sign-ins",
        ["pupils"] = "Pupils",
        ["records"] = "The audit",
        ["travel"] = "Driving times",
        ["cars"] = "Cars",
        ["calendars"] = "Calendar addresses",
        ["platform"] = "Keys and kept answers",
        ["hangfire"] = "Jobs",
    };

    public async Task<(IReadOnlyList<KindNow> Kinds, int Version)> KindsAsync(CancellationToken cancel)
    {
        var (all, version) = await periods.ReadAsync(cancel);
        var now = clock.GetCurrentInstant();
        // One statement for all.
        var sql = string.Join(" UNION ALL ", all.Select((period, n) =>
            $"SELECT {n.ToString(CultureInfo.InvariantCulture)} AS n, {RetentionSql.CountStanding(period.Rule, Counted)} AS standing, {RetentionSql.CountDue(period.Rule, n)} AS due"));
        var counts = await db.Database.SqlQueryRaw<Counts>(sql, [.. all.Select(period => (object)(now - Duration.FromDays(period.Days)))]).ToListAsync(cancel);
        var kinds = new List<KindNow>();
        foreach (var count in counts.OrderBy(count => count.N))
        {
            var (rule, days) = all[count.N];
            var many = count.Standing > Counted;
            kinds.Add(new(rule, days, many ? Math.Max(Counted, await EstimateAsync(rule, cancel)) : count.Standing, many, count.Due));
        }

        return (kinds, version);
    }

    /// <summary>The database as a whole, and its parts with the largest first.</summary>
    public async Task<(long All, IReadOnlyList<PartSize> Parts)> SizeAsync(CancellationToken cancel)
    {
        var sizes = await db.Database.SqlQuery<SchemaSize>(
            $"""
             SELECT n.nspname::text AS schema, sum(pg_total_relation_size(c.oid))::bigint AS octets
             FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE c.relkind IN ('r', 'm') GROUP BY 1
             """).ToListAsync(cancel);
        var parts = sizes.GroupBy(size => Parts.GetValueOrDefault(size.Schema, "The database’s own")).Select(part => new PartSize(part.Key, part.Sum(size => size.Octets)));
        var all = (await db.Database.SqlQuery<long>($"""SELECT pg_database_size(current_database()) AS "Value" """).ToListAsync(cancel))[0];
        return (all, [.. parts.OrderByDescending(part => part.Octets)]);
    }

    /// <summary>As the planner reckons it from its statistics: counting millions would take longer than anybody waits for a page.</summary>
    private async Task<long> EstimateAsync(RetentionRule rule, CancellationToken cancel)
    {
        await db.Database.OpenConnectionAsync(cancel);
        try
        {
            await using DbCommand command = db.Database.GetDbConnection().CreateCommand();
            command.CommandText = $"EXPLAIN (FORMAT JSON) {RetentionSql.Standing(rule)}";
            using var plan = JsonDocument.Parse((string)(await command.ExecuteScalarAsync(cancel))!);
            return plan.RootElement[0].GetProperty("Plan").GetProperty("Plan Rows").GetInt64();
        }
        finally
        {
            await db.Database.CloseConnectionAsync();
        }
    }

    private sealed record Counts(int N, long Standing, long Due);

    private sealed record SchemaSize(string Schema, long Octets);
}
