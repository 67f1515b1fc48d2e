using System.Globalization;
using NodaTime;
using NodaTime.Text;
using Npgsql;
using School.Web.Modules.Diary.Search;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Events;

/// <summary>
/// The one connection of a node that listens for changes of days, while somebody reads them. Where it breaks it is made anew, and what moved
/// meanwhile is read from the counts themselves.
/// </summary>
internal sealed partial class ListenToChanges(LiveDays live, LiveLimits limits, IConfiguration configuration, ILogger<ListenToChanges> logger) : BackgroundService
{
    /// <summary>More than this in one gap is told as one.</summary>
    public const int MostInGap = 200;

    /// <summary>The connection string for where the usual one leads to a pooler: a connection that goes from one client to the next hears nothing.</summary>
    private const string OwnName = "SchoolListening";

    private const int LookMilliseconds = 500;

    /// <summary>What one transaction tells comes together.</summary>
    private const int TogetherMilliseconds = 20;
    private static readonly TimeSpan Soonest = TimeSpan.FromSeconds(0.2);
    private static readonly TimeSpan Latest = TimeSpan.FromSeconds(15);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        while (!stoppingToken.IsCancellationRequested)
        {
            await live.Wanted.WaitAsync(stoppingToken);
            await ListenAsync(stoppingToken);
        }
    }

    /// <summary>Until nobody has read for a while.</summary>
    private async Task ListenAsync(CancellationToken cancel)
    {
        var wait = Soonest;
        do
        {
            try
            {
                await using var connection = new NpgsqlConnection(OwnConnection());
                var early = new List<string>();
                var hears = false;
                connection.Notification += (_, heard) =>
                {
                    if (hears)
                    {
                        Hear(heard.Payload);
                    }
                    else
                    {
                        early.Add(heard.Payload);
                    }
                };
                await connection.OpenAsync(cancel);
                await StartAsync(connection, cancel);
                hears = true;
                early.ForEach(Hear);
                wait = Soonest;
                await HearAsync(connection, cancel);
                return;
            }
            catch (Exception failure) when (!cancel.IsCancellationRequested)
            {
                Broken(logger, failure.Message);
            }

            await Task.Delay(wait, cancel);
            wait = wait * 2 < Latest ? wait * 2 : Latest;
        }
        while (!live.TryEnd());
    }

    /// <summary>A connection of its own, which no request can take, and which is asked now and then whether it is still there.</summary>
    private string OwnConnection() => new NpgsqlConnectionStringBuilder(ConnectionLimits.Of(
        configuration.GetConnectionString(OwnName) is { Length: > 0 } own ? own : DatabaseConnections.Of(configuration).Service))
    {
        Pooling = false,
        KeepAlive = 15,
        ApplicationName = "School, changes of days",
    }.ConnectionString;

    private async Task StartAsync(NpgsqlConnection connection, CancellationToken cancel)
    {
        await using (var listen = new NpgsqlCommand("LISTEN day_versions", connection))
        {
            await listen.ExecuteNonQueryAsync(cancel);
        }

        // After LISTEN: what ends from here on is heard, and what ended before is seen. A restored database is another one, by its number.
        await using var command = new NpgsqlCommand("SELECT oid::text, pg_current_snapshot()::text FROM pg_database WHERE datname = current_database()", connection);
        await using var reader = await command.ExecuteReaderAsync(cancel);
        await reader.ReadAsync(cancel);
        var (database, over) = (reader.GetString(0), ToldUpTo.OfSnapshot(reader.GetString(1)));
        await reader.CloseAsync();
        if (live.ListensTo(database) && live.Told is { } told)
        {
            await CatchUpAsync(connection, told, cancel);
        }
        else
        {
            live.Begin(database, over);
        }
    }

    /// <summary>The counts that moved since: a row knows the transaction that wrote it, by its last 32 bits.</summary>
    private async Task CatchUpAsync(NpgsqlConnection connection, ToldUpTo told, CancellationToken cancel)
    {
        await using var command = new NpgsqlCommand(
            $"""
            SELECT pg_current_snapshot()::text, v.subject, v.day::text, v.version,
                CASE WHEN EXISTS (SELECT FROM people.instructors WHERE id = v.subject) THEN 0 WHEN EXISTS (SELECT FROM cars.cars WHERE id = v.subject) THEN 1 ELSE 2 END
            FROM (SELECT 1) AS one LEFT JOIN LATERAL (
                SELECT * FROM diary.day_versions WHERE age(xmin) <= age($1::xid) ORDER BY day, subject LIMIT {MostInGap + 1}) AS v ON true
            """,
            connection)
        {
            Parameters = { new() { Value = ((uint)told.First).ToString(CultureInfo.InvariantCulture) } },
        };
        var moved = new List<DayChange>();
        ToldUpTo? over = null;
        await using var reader = await command.ExecuteReaderAsync(cancel);
        while (await reader.ReadAsync(cancel))
        {
            over ??= ToldUpTo.OfSnapshot(reader.GetString(0));
            if (!await reader.IsDBNullAsync(1, cancel))
            {
                moved.Add(Moved(reader.GetGuid(1), LocalDatePattern.Iso.Parse(reader.GetString(2)).Value, reader.GetInt64(3), reader.GetInt32(4)));
            }
        }

        live.CatchUp(moved.Count > MostInGap ? null : moved, over!);
    }

    private static DayChange Moved(Guid subject, LocalDate day, long version, int kind) =>
        day != DayVersion.Always ? new((DayChangeKind)kind, subject, day, version)
        : new(subject == DayVersion.Pupils ? DayChangeKind.Pupils : DayChangeKind.School, null, null, version);

    private async Task HearAsync(NpgsqlConnection connection, CancellationToken cancel)
    {
        var unread = TimeSpan.Zero;
        while (true)
        {
            if (await connection.WaitAsync(LookMilliseconds, cancel))
            {
                while (await connection.WaitAsync(TogetherMilliseconds, cancel))
                {
                }

                live.Settle();
            }

            // Looks now and then whether anybody still reads.
            unread = live.Streams > 0 ? TimeSpan.Zero : unread + TimeSpan.FromMilliseconds(LookMilliseconds);
            if (unread.TotalSeconds > limits.LingerSeconds && live.TryEnd())
            {
                return;
            }
        }
    }

    private void Hear(string payload)
    {
        var (change, transaction, over) = DayChange.Heard(payload);
        live.Tell(change, transaction, over);
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "The connection that listens for changes of days broke ({What}). It is made anew, and what was missed is read.")]
    private static partial void Broken(ILogger logger, string what);
}
