using System.Text.Json;
using School.Core.Travel;

namespace School.Web.Modules.Travel.Routing;

/// <summary>What the server said of each pair, null where it knows no road; or why the answer cannot be used.</summary>
internal sealed record TableAnswer(IReadOnlyDictionary<(Cell From, Cell To), RoutedDrive?> Drives, string? Problem)
{
    public static TableAnswer Bad(string problem) => new(new Dictionary<(Cell, Cell), RoutedDrive?>(), problem);
}

/// <summary>Reads the answer of an OSRM table service (HTTP API version 1) and believes nothing of it unchecked. One wrong cell spoils the whole answer.</summary>
internal static class TableReader
{
    public static TableAnswer Read(ReadOnlySpan<byte> body, IReadOnlyList<Cell> sources, IReadOnlyList<Cell> destinations)
    {
        try
        {
            var reader = new Utf8JsonReader(body);
            using var document = JsonDocument.ParseValue(ref reader);
            return Read(document.RootElement, sources, destinations);
        }
        catch (Exception unreadable) when (unreadable is JsonException or InvalidOperationException or FormatException or KeyNotFoundException)
        {
            return TableAnswer.Bad("the answer is not a table");
        }
    }

    private static TableAnswer Read(JsonElement answer, IReadOnlyList<Cell> sources, IReadOnlyList<Cell> destinations)
    {
        if (answer.GetProperty("code").GetString() != "Ok")
        {
            return TableAnswer.Bad("the server could not make the table");
        }

        var (durations, distances) = (answer.GetProperty("durations"), answer.GetProperty("distances"));
        if (!IsSized(durations, sources.Count, destinations.Count) || !IsSized(distances, sources.Count, destinations.Count))
        {
            return TableAnswer.Bad("the table has the wrong size");
        }

        var drives = new Dictionary<(Cell, Cell), RoutedDrive?>();
        for (var row = 0; row < sources.Count; row++)
        {
            for (var column = 0; column < destinations.Count; column++)
            {
                var (from, to) = (sources[row], destinations[column]);
                if (from == to)
                {
                    continue;
                }

                var (seconds, metres) = (durations[row][column], distances[row][column]);
                if (seconds.ValueKind == JsonValueKind.Null || metres.ValueKind == JsonValueKind.Null)
                {
                    drives[(from, to)] = null;
                    continue;
                }

                var drive = new RoutedDrive(seconds.GetDouble(), metres.GetDouble());
                if (drive.ProblemBetween(from.At(), to.At()) is { } problem)
                {
                    return TableAnswer.Bad(problem);
                }

                drives[(from, to)] = drive;
            }
        }

        return new(drives, null);
    }

    private static bool IsSized(JsonElement table, int rows, int columns) =>
        table.GetArrayLength() == rows && table.EnumerateArray().All(row => row.GetArrayLength() == columns);
}
