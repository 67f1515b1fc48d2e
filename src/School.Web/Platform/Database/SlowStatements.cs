using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.EntityFrameworkCore.Infrastructure;

namespace School.Web.Platform.Database;

/// <summary>
/// Writes down each statement that took longer than <c>Database:SlowMilliseconds</c> (500; 0 is never): its text, whose values are
/// parameters and stay out, so that the next statement worth an index is found where it hurts.
/// </summary>
internal sealed partial class SlowStatements(IConfiguration settings, ILogger<SlowStatements> logger) : DbCommandInterceptor
{
    private const int Usual = 500;
    private const int LongestText = 2000;

    private readonly double slow = settings.GetValue("Database:SlowMilliseconds", Usual) is > 0 and var milliseconds ? milliseconds : double.PositiveInfinity;

    public override DbDataReader ReaderExecuted(DbCommand command, CommandExecutedEventData eventData, DbDataReader result)
    {
        Note(command, eventData);
        return result;
    }

    public override ValueTask<DbDataReader> ReaderExecutedAsync(
        DbCommand command, CommandExecutedEventData eventData, DbDataReader result, CancellationToken cancellationToken = default)
    {
        Note(command, eventData);
        return ValueTask.FromResult(result);
    }

    public override ValueTask<int> NonQueryExecutedAsync(
        DbCommand command, CommandExecutedEventData eventData, int result, CancellationToken cancellationToken = default)
    {
        Note(command, eventData);
        return ValueTask.FromResult(result);
    }

    public override ValueTask<object?> ScalarExecutedAsync(
        DbCommand command, CommandExecutedEventData eventData, object? result, CancellationToken cancellationToken = default)
    {
        Note(command, eventData);
        return ValueTask.FromResult(result);
    }

    /// <summary>The same for what went together, which no command of the context carried.</summary>
    public static void Note(DbContext db, TimeSpan took, IEnumerable<string> together)
    {
        var all = db.GetService<IDbContextOptions>().FindExtension<CoreOptionsExtension>()?.Interceptors?.OfType<SlowStatements>() ?? [];
        foreach (var slow in all)
        {
            slow.Note(took, () => string.Join(";\n", together));
        }
    }

    private void Note(DbCommand command, CommandExecutedEventData data) => Note(data.Duration, () => command.CommandText);

    private void Note(TimeSpan took, Func<string> said)
    {
        if (took.TotalMilliseconds > slow)
        {
            var text = said();
            Slow(logger, (int)took.TotalMilliseconds, text.Length > LongestText ? text[..LongestText] : text);
        }
    }

    [LoggerMessage(4601, LogLevel.Warning, "A statement took {Milliseconds} ms: {Statement}")]
    private static partial void Slow(ILogger logger, int milliseconds, string statement);
}
