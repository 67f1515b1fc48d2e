using System.Globalization;
using School.Core.Diary.Order;

namespace School.Core.Tests.Diary.Order;

/// <summary>The instances with 20 stops of Y. Dumas, J. Desrosiers, E. Gélinas and M. M. Solomon (Operations Research 43, 1995, from
/// memory) and their least travel, from the collection of M. López-Ibáñez and C. Blum. They are not part of the project: they are
/// read from a folder <c>shared/data</c> beside the checkout or from the one that SCHOOL_REFERENCE_DATA names.</summary>
internal static class Dumas
{
    /// <summary>The folder of the instances; null when there is none.</summary>
    public static string? Folder() => Places().Select(data => Path.Combine(data, "tsptw")).FirstOrDefault(Directory.Exists);

    /// <summary>Every instance with its published optimum.</summary>
    public static IReadOnlyList<(string Name, OrderProblem Day, int Optimum)> Read(string folder) =>
    [.. File.ReadLines(Path.Combine(folder, "optima.csv")).Skip(1).Select(line => line.Split(','))
        .Select(parts => (parts[1], ReadDay(Path.Combine(folder, parts[0], parts[1])), int.Parse(parts[3], CultureInfo.InvariantCulture)))];

    private static IEnumerable<string> Places()
    {
        if (Environment.GetEnvironmentVariable("SCHOOL_REFERENCE_DATA") is { Length: > 0 } named)
        {
            yield return named;
        }

        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "School.sln")) && folder.Parent is { } beside)
            {
                yield return Path.Combine(beside.FullName, "shared", "data");
            }
        }
    }

    /// <summary>The first node is the depot; service is part of the rows.</summary>
    private static OrderProblem ReadDay(string path)
    {
        var numbers = File.ReadAllText(path).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries).Select(number => int.Parse(number, CultureInfo.InvariantCulture)).ToArray();
        var size = numbers[0];
        var travel = new int[size * size];
        for (var i = 0; i < size; i++)
        {
            for (var j = 0; j < size; j++)
            {
                travel[i * size + j] = numbers[1 + (i + 1) % size * size + (j + 1) % size];
            }
        }
        var windows = numbers[(1 + size * size)..];
        return new(
            [.. Enumerable.Range(1, size - 1).Select(i => new OrderStop(windows[2 * i], windows[2 * i + 1], 0))],
            travel, windows[0], windows[1]);
    }
}
