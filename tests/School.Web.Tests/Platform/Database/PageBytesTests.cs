using System.Globalization;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>
/// How much memory each page asks for, once it has been asked before. The numbers stand in page-bytes.txt, so that a change which costs or
/// saves much says so in its own lines.
/// </summary>
/// <remarks>
/// Counted is what the whole process allocates between asking and the answer, so no other test may run beside it; of several reads the least
/// counts, for what else the process does only adds. How much a method allocates also depends a little on how far the runtime has
/// compiled it, and on whether the build is optimised, so a line stands until it is off by more than a fifth and a little.
/// </remarks>
[Collection(nameof(Alone))]
public sealed class PageBytesTests(TestPostgres postgres)
{
    private const string File = "tests/School.Web.Tests/page-bytes.txt";
    private const int Warm = 3;
    private const int Reads = 5;
    private const int LeastOff = 24;
    private const double MostOff = 0.2;

    [CollectionDefinition(nameof(Alone), DisableParallelization = true)]
    public sealed class Alone;

    [Fact]
    public async Task Each_page_asks_for_as_much_memory_as_the_list_says()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var seen = new Dictionary<string, int>();
        await WalkedPages.WalkAsync(host, route => route.IsPage, async (name, client, url) =>
        {
            var least = long.MaxValue;
            for (var n = 0; n < Warm + Reads; n++)
            {
                var before = GC.GetTotalAllocatedBytes(precise: true);
                using var answer = await client.GetAsync(url);
                var bytes = GC.GetTotalAllocatedBytes(precise: true) - before;
                if ((int)answer.StatusCode >= 300)
                {
                    return;
                }

                least = n < Warm ? least : Math.Min(least, bytes);
            }

            seen[name] = (int)(least / 1024);
        });

        var known = (await System.IO.File.ReadAllLinesAsync(Path.Combine(Sources.Root, File), TestContext.Current.CancellationToken))
            .Select(line => (Name: line[..line.LastIndexOf(' ')], KB: int.Parse(line[(line.LastIndexOf(' ') + 1)..], CultureInfo.InvariantCulture)))
            .ToDictionary(line => line.Name, line => line.KB);
        var off = seen.Keys.Union(known.Keys)
            .Where(name => !known.TryGetValue(name, out var said) || !seen.TryGetValue(name, out var now) || Math.Abs(now - said) > LeastOff + MostOff * said)
            .ToList();
        Assert.True(
            off.Count == 0,
            $"""
            {File} does not say how many KB are allocated. Where that is meant, let it say so. It says and should say:
            {string.Join('\n', off.Select(name => $"- {Line(known, name)}\n+ {Line(seen, name)}"))}
            """);
    }

    private static string Line(Dictionary<string, int> lines, string name) => lines.TryGetValue(name, out var kb) ? $"{name} {kb}" : "";
}
