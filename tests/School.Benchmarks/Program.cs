using System.Globalization;
using School.Benchmarks;

// Without arguments everything but what takes very long; the name of a part for that part. The part scale makes two schools, of the
// numbers of lessons that are given, and leaves them in a folder that is named with --in=DIR for the next time; so does the part memory, which
// asks for --for=SECONDS, and with --kinds compares kinds of garbage collection; and the part kept, which clears in that
// folder what was kept long enough. The part answers measures the School.Web.dll of --of=FILE instead of this one, and pages and answers alone. The part http compares with the built checkout of --before=DIR.
var wanted = args is [] ? ["order", "slots", "cover", "readiness", "feed", "answers", "booking"] : args;
if (wanted.Contains("order"))
{
    Print(OrderBench.Measure());
}

if (wanted.Contains("slots"))
{
    Print(SlotBench.MeasureKernel());
}

if (wanted.Contains("cover"))
{
    Print(CoverBench.Measure());
}

if (wanted.Contains("readiness"))
{
    Print(ReadinessBench.Measure());
}

if (wanted.Contains("feed"))
{
    Print([FeedBench.MeasureWriter()]);
    await using var school = await DemoService.StartAsync(runJobs: false);
    Print(await FeedBench.MeasureHttpAsync(school));
}

if (wanted.Contains("answers"))
{
    await using var school = await DemoService.StartAsync(assembly: Named("of"));
    Print(await new Answers(school).MeasureAsync());
}

if ((wanted.Contains("answers") && Named("of") is null) || wanted.Contains("http"))
{
    await using var school = await DemoService.StartAsync(runJobs: false);
    Print(await SlotBench.MeasureHttpAsync(school));
}

if (wanted.Contains("booking") && !OperatingSystem.IsWindows())
{
    await using var school = await DemoService.StartAsync(BookingBench.Lessons);
    Print(await BookingBench.MeasureAsync(school));
}

if (wanted.Contains("events") && !OperatingSystem.IsWindows())
{
    await using var school = await DemoService.StartAsync(BookingBench.Lessons);
    Print(await BookingBench.MeasureToldAsync(school));
}

if (wanted.Contains("http"))
{
    Print(await HttpBench.MeasureAsync(Named("before")));
}

if (wanted.Contains("scale") && !OperatingSystem.IsWindows())
{
    var (small, large) = Numbers() is [var few, var many] ? (few, many) : (10_000, 1_000_000);
    await using var young = await DemoService.StartAsync(small, Named("in"));
    await using var old = await DemoService.StartAsync(large, Named("in"));
    Print(await new ScaleBench(young, small, old, large).MeasureAsync());
}

if (wanted.Contains("memory") && !OperatingSystem.IsWindows())
{
    var lessons = Numbers() is [var many, ..] ? many : 1_000_000;
    var length = TimeSpan.FromSeconds(int.Parse(Named("for") ?? "3600", CultureInfo.InvariantCulture));
    Print(args.Contains("--kinds")
        ? await MemoryBench.CompareAsync(lessons, Named("in"), length, rounds: 3)
        : [await MemoryBench.DrillAsync(lessons, Named("in"), length)]);
}

if (wanted.Contains("kept") && !OperatingSystem.IsWindows())
{
    Print([await KeptBench.MeasureAsync(Numbers() is [var of, ..] ? of : 1_000_000, Named("in"))]);
}

return 0;

int[] Numbers() => [.. args.Where(arg => int.TryParse(arg, CultureInfo.InvariantCulture, out _)).Select(arg => int.Parse(arg, CultureInfo.InvariantCulture))];

string? Named(string name) => args.FirstOrDefault(arg => arg.StartsWith($"--{name}=", StringComparison.Ordinal))?[$"--{name}=".Length..];

static void Print(IEnumerable<string> figures)
{
    foreach (var figure in figures)
    {
        Console.Out.WriteLine(figure);
    }
}
