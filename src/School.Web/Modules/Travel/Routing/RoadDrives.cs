using System.Collections.Concurrent;
using System.Diagnostics;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Travel;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel.Routing;

/// <summary>
/// Drives between places from memory, from the database, or from the routing server, in this order. Memory only spares a query: it
/// holds nothing that the database does not. Works on connections of its own, so that what was learnt stays whatever becomes of the request.
/// </summary>
internal sealed class RoadDrives(TableClient table, RoutingBreaker breaker, RoutingSettings settings, IServiceScopeFactory scopes, IClock clock)
{
    private const int MostRemembered = 200_000;
    private const int LongestAskingInTimeouts = 3;

    private readonly ConcurrentDictionary<(Cell From, Cell To), KnownDrive> _remembered = new();

    /// <summary>All known drives within each group; those missing are for somebody else to estimate.</summary>
    public async Task<IReadOnlyDictionary<(Coordinates From, Coordinates To), RoutedDrive>> WithinAsync(
        IEnumerable<IReadOnlyCollection<Coordinates>> groups, CancellationToken cancel)
    {
        var pairs = groups.Select(group => PairsOf([.. group.Distinct()])).ToList();
        var missing = pairs.SelectMany(group => group.Select(pair => pair.Cells)).Distinct().Where(cells => Remembered(cells) is null).ToHashSet();
        if (missing.Count > 0)
        {
            foreach (var drive in await ReadAsync(missing, cancel))
            {
                Remember(drive);
                missing.Remove(drive.Pair);
            }

            await AskAsync(pairs.Select(group => group.Select(pair => pair.Cells).Where(missing.Contains)), cancel);
        }

        var known = new Dictionary<(Coordinates, Coordinates), RoutedDrive>();
        foreach (var (from, to, cells) in pairs.SelectMany(group => group))
        {
            if (Remembered(cells)?.Drive is { } drive)
            {
                known[(from, to)] = drive;
            }
        }

        return known;
    }

    /// <summary>Asks a server that failed whether it is back, though nobody needs it now.</summary>
    public async Task TryAgainAsync(CancellationToken cancel)
    {
        if (!settings.HasServer)
        {
            return;
        }

        var health = await breaker.ReadAsync(cancel);
        if (health.FailingSince is not null && await breaker.MayAskAsync(cancel))
        {
            await AskAsync([new(health.TrialFrom)], [new(health.TrialTo)], [], cancel);
        }
    }

    private static List<(Coordinates From, Coordinates To, (Cell From, Cell To) Cells)> PairsOf(List<Coordinates> places)
    {
        var cells = places.ConvertAll(Cell.Of);
        var pairs = new List<(Coordinates, Coordinates, (Cell, Cell))>(places.Count * places.Count);
        for (var i = 0; i < places.Count; i++)
        {
            for (var j = 0; j < places.Count; j++)
            {
                if (cells[i] != cells[j])
                {
                    pairs.Add((places[i], places[j], (cells[i], cells[j])));
                }
            }
        }

        return pairs;
    }

    private async Task AskAsync(IEnumerable<IEnumerable<(Cell From, Cell To)>> groups, CancellationToken cancel)
    {
        var asking = Stopwatch.StartNew();
        foreach (var group in groups)
        {
            var wanted = group.Where(cells => Remembered(cells) is null).ToHashSet();
            foreach (var (sources, destinations) in Questions(wanted))
            {
                // What is left out is estimated now and asked for next time.
                if (asking.Elapsed > settings.Timeout * LongestAskingInTimeouts || !await breaker.MayAskAsync(cancel)
                    || !await AskAsync(sources, destinations, wanted, cancel))
                {
                    return;
                }
            }
        }
    }

    /// <summary>One question where one is enough; else blocks that each stay below the most places.</summary>
    private static IEnumerable<(Cell[] Sources, Cell[] Destinations)> Questions(HashSet<(Cell From, Cell To)> wanted)
    {
        var places = wanted.SelectMany(pair => new[] { pair.From, pair.To }).Distinct().Order().ToArray();
        if (places.Length <= TableClient.MostPlaces)
        {
            return wanted.Count == 0 ? [] : [(places, places)];
        }

        var blocks = places.Chunk(TableClient.MostPlaces / 2).ToList();
        return from sources in blocks
               from destinations in blocks
               where sources.Any(start => destinations.Any(end => wanted.Contains((start, end))))
               select (sources, destinations);
    }

    private async Task<bool> AskAsync(Cell[] sources, Cell[] destinations, HashSet<(Cell From, Cell To)> wanted, CancellationToken cancel)
    {
        var answer = await table.AskAsync(sources, destinations, cancel);
        if (answer.Problem is { } problem)
        {
            var trial = wanted.Count > 0 ? wanted.First() : (sources[0], destinations[0]);
            await breaker.FailedAsync(problem, trial, cancel);
            return false;
        }

        await breaker.AnsweredAsync(cancel);
        var now = clock.GetCurrentInstant();
        var drives = answer.Drives.Where(drive => wanted.Contains(drive.Key)).OrderBy(drive => drive.Key)
            .Select(drive => new KnownDrive
            {
                FromCell = drive.Key.From.Number,
                ToCell = drive.Key.To.Number,
                Seconds = drive.Value?.Seconds,
                Metres = drive.Value?.Metres,
                AskedAt = now,
            }).ToList();
        await WriteAsync(drives, now, cancel);
        drives.ForEach(Remember);
        return true;
    }

    private KnownDrive? Remembered((Cell, Cell) cells) =>
        _remembered.TryGetValue(cells, out var drive) && drive.AskedAt > Oldest ? drive : null;

    private void Remember(KnownDrive drive)
    {
        if (_remembered.Count >= MostRemembered)
        {
            _remembered.Clear();
        }

        _remembered[drive.Pair] = drive;
    }

    private Instant Oldest => clock.GetCurrentInstant() - settings.Keep;

    private async Task<List<KnownDrive>> ReadAsync(HashSet<(Cell From, Cell To)> pairs, CancellationToken cancel)
    {
        var (from, to) = (pairs.Select(pair => pair.From.Number).ToArray(), pairs.Select(pair => pair.To.Number).ToArray());
        var oldest = Oldest;
        await using var scope = scopes.CreateAsyncScope();
        return await scope.ServiceProvider.GetRequiredService<SchoolDb>().Set<KnownDrive>().FromSql(
            $"""
             SELECT d.* FROM travel.drives d
             JOIN unnest({from}, {to}) AS wanted (f, t) ON d.from_cell = wanted.f AND d.to_cell = wanted.t
             WHERE d.asked_at > {oldest}
             """).AsNoTracking().ToListAsync(cancel);
    }

    /// <summary>In the order of the key, so that two nodes that learnt the same cannot wait for each other.</summary>
    private async Task WriteAsync(List<KnownDrive> drives, Instant now, CancellationToken cancel)
    {
        var (from, to) = (drives.Select(d => d.FromCell).ToArray(), drives.Select(d => d.ToCell).ToArray());
        var (seconds, metres) = (drives.Select(d => d.Seconds).ToArray(), drives.Select(d => d.Metres).ToArray());
        await using var scope = scopes.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<SchoolDb>();
        await db.AloneAsync(
            () => db.Database.ExecuteSqlAsync(
                $"""
                 INSERT INTO travel.drives (from_cell, to_cell, seconds, metres, asked_at)
                 SELECT f, t, s, m, {now} FROM unnest({from}, {to}, {seconds}, {metres}) AS told (f, t, s, m)
                 ON CONFLICT (from_cell, to_cell) DO UPDATE SET seconds = excluded.seconds, metres = excluded.metres, asked_at = excluded.asked_at
                 """,
                cancel),
            cancel);
    }
}
