using System.Globalization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Records.Retention;

/// <summary>
/// Clears what was kept long enough, a few rows at a time, each step a short transaction of its own that waits for nobody. A run that is killed has
/// lost nothing: what it left is due in the next, which tells of both.
/// </summary>
internal sealed class ClearKept(SchoolDb db, RetentionPeriods periods, Audit audit, IClock clock, ILogger<ClearKept> logger)
{
    public const string Job = "clear-kept";
    public const int RowsOfStep = 1_000;

    public async Task RunAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        // Those that take others along come last: what is counted before a run as free to go is what the run takes.
        foreach (var (rule, days) in (await periods.ReadAsync(cancel)).Periods.OrderBy(period => period.Rule.With.Count))
        {
            var (until, all, step) = (now - Duration.FromDays(days), 0L, 0);
            do
            {
                step = await StepAsync(rule, until, cancel);
                all += step;
            }
            while (step == RowsOfStep);

            if (all > 0)
            {
                RetentionLog.Cleared(logger, rule.Code, all, days);
            }
        }

        await TellAsync(cancel);
    }

    /// <summary>Clears the next few and says in the same transaction how far it came.</summary>
    internal async Task<int> StepAsync(RetentionRule rule, Instant until, CancellationToken cancel)
    {
        var cleared = await db.InTransactionAsync<int>(
            async cancel =>
            {
                var count = await DeleteAsync(rule, until, cancel);
                if (count > 0)
                {
                    await db.Database.ExecuteSqlAsync(
                        $"""
                         INSERT INTO records.retention_marks AS m (code, cleared_until, not_told) VALUES ({rule.Code}, {until}, {count})
                         ON CONFLICT (code) DO UPDATE SET cleared_until = greatest(m.cleared_until, excluded.cleared_until), not_told = m.not_told + excluded.not_told
                         """,
                        cancel);
                }

                return count;
            },
            cancel);
        return cleared.Value;
    }

    private async Task<int> DeleteAsync(RetentionRule rule, Instant until, CancellationToken cancel)
    {
        if (rule.Key is null)
        {
            return await db.Database.ExecuteSqlRawAsync(RetentionSql.DeleteNext(rule, RowsOfStep), [until], cancel);
        }

        var ids = (await db.Database.SqlQueryRaw<Guid>(RetentionSql.Next(rule, $"r.{rule.Key} AS \"Value\"", RowsOfStep), until).ToListAsync(cancel)).ToArray();
        if (ids.Length == 0)
        {
            return 0;
        }

        foreach (var (table, column) in rule.With)
        {
            await db.Database.ExecuteSqlRawAsync(RetentionSql.DeleteThose(table, column), [ids], cancel);
        }

        return await db.Database.ExecuteSqlRawAsync(RetentionSql.DeleteThose(rule.Table, rule.Key), [ids], cancel);
    }

    /// <summary>One line of the audit about all that is cleared and not told yet; none where nothing was.</summary>
    private Task<Outcome<int>> TellAsync(CancellationToken cancel) => db.InTransactionAsync<int>(
        async cancel =>
        {
            var marks = await db.Set<RetentionMark>().FromSql($"SELECT * FROM records.retention_marks WHERE not_told > 0 FOR UPDATE").AsNoTracking().ToListAsync(cancel);
            var told = periods.Rules.Join(marks, rule => rule.Code, mark => mark.Code, (rule, mark) => $"{rule.Code} {mark.NotTold.ToString(CultureInfo.InvariantCulture)}").ToList();
            if (told.Count > 0)
            {
                audit.Note(Viewer.Service, "retention.clear", null, $"Cleared what was kept long enough: {string.Join(", ", told)}.");
                await db.Database.ExecuteSqlAsync($"UPDATE records.retention_marks SET not_told = 0 WHERE not_told > 0", cancel);
            }

            return told.Count;
        },
        cancel);
}

internal static partial class RetentionLog
{
    [LoggerMessage(Level = LogLevel.Information, Message = "Cleared {Count} rows of {Rule}, kept for {Days} days")]
    public static partial void Cleared(ILogger logger, string rule, long count, int days);
}
