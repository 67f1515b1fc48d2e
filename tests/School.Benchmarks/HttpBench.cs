using System.Diagnostics;
using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json;

namespace School.Benchmarks;

/// <summary>The pages that are asked for most, this commit beside the one before connections kept their plans, each as a service of its own.</summary>
internal static class HttpBench
{
    /// <summary>The last commit before connections were kept as they are, contexts pooled and the school read once a request.</summary>
    private const string Before = "8cadad6";
    private const int Rounds = 7;
    private const double LeastTimes = 1.5;
    private static readonly TimeSpan Turn = TimeSpan.FromSeconds(2);

    public static async Task<IReadOnlyList<string>> MeasureAsync(string? checkout)
    {
        await using var before = checkout is null ? await MadeCheckout.MakeAsync() : null;
        var folder = checkout ?? before!.Folder;
        var assembly = Directory.EnumerateFiles(Path.Combine(folder, "src", "School.Web", "bin", "Release"), "School.Web.dll", SearchOption.AllDirectories).FirstOrDefault()
            ?? throw new InvalidOperationException($"{folder} is not built: dotnet build src/School.Web --configuration Release.");
        await using var old = await DemoService.StartAsync(assembly: assembly, runJobs: false);
        await using var now = await DemoService.StartAsync(runJobs: false);
        var (one, other) = (await SubjectsAsync(now), await SubjectsAsync(old));
        var rates = await Load.InTurnAsync([.. one.Zip(other).SelectMany(pair => new[] { pair.First, pair.Second })], Rounds, Turn);
        return [.. one.Select((subject, n) => Line(subject.Name, rates[2 * n], rates[2 * n + 1]))];
    }

    private static string Line(string name, (double Rate, double P99) now, (double Rate, double P99) before)
    {
        var times = now.Rate / before.Rate;
        return string.Create(
            CultureInfo.InvariantCulture,
            $"http-{name} {now.Rate:0} requests/s (ratio {times:0.00} to {before.Rate:0} at {Before}; p99 {now.P99:0.0} ms against {before.P99:0.0}; goal at least {LeastTimes}) {Load.Met(times >= LeastTimes)}");
    }

    private static async Task<IReadOnlyList<Asked>> SubjectsAsync(DemoService school)
    {
        var office = await school.ApiAsync("office@larkfield.example");
        var instructor = (await office.GetFromJsonAsync<JsonElement>("/api/v1/instructors")).GetProperty("items")[0].GetProperty("id").GetString()!;
        return
        [
            new("one-row-read", office, $"/api/v1/instructors/{instructor}"),
            new("day", await school.PagesAsync("instructor@larkfield.example"), "/diary/day"),
            new("board", await school.PagesAsync("office@larkfield.example"), "/diary/board"),
            new("progress", await school.PagesAsync("pupil@larkfield.example"), "/syllabus/progress"),
        ];
    }

    /// <summary>A checkout of the commit before, built, that goes when it was measured.</summary>
    private sealed class MadeCheckout : IAsyncDisposable
    {
        private MadeCheckout(string folder) => Folder = folder;

        public string Folder { get; }

        public static async Task<MadeCheckout> MakeAsync()
        {
            var made = new MadeCheckout(Directory.CreateTempSubdirectory("school-before-").FullName);
            await RunAsync("git", "worktree", "add", "--detach", "--force", made.Folder, Before);
            await RunAsync("dotnet", "build", Path.Combine(made.Folder, "src", "School.Web"), "--configuration", "Release", "--verbosity", "quiet", "-p:RunAnalyzers=false");
            return made;
        }

        public async ValueTask DisposeAsync() => await RunAsync("git", "worktree", "remove", "--force", Folder);

        private static async Task RunAsync(string program, params string[] arguments)
        {
            using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true })!;
            await Console.Error.WriteAsync(await process.StandardOutput.ReadToEndAsync());
            await process.WaitForExitAsync();
            if (process.ExitCode != 0)
            {
                throw new InvalidOperationException($"{program} {string.Join(' ', arguments)} ended with {process.ExitCode}. With --before=DIR another built checkout is taken.");
            }
        }
    }
}
