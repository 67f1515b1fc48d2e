using System.Data.Common;
using Microsoft.EntityFrameworkCore.Diagnostics;

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

    private void Note(DbCommand command, CommandExecutedEventData data)
    {
        if (data.Duration.TotalMilliseconds > slow)
        {
            var text = command.CommandText;
            Slow(logger, (int)data.Duration.TotalMilliseconds, text.Length > LongestText ? text[..LongestText] : text);
        }
    }

    [LoggerMessage(4601, LogLevel.Warning, "A statement took {Milliseconds} ms: {Statement}")]
    private static partial void Slow(ILogger logger, int milliseconds, string statement);
}
