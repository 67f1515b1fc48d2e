using System.Globalization;
using School.Benchmarks;

// Without arguments everything but what takes very long; the name of a part for that part. The part scale makes two schools, of the
// numbers of lessons that are given, and leaves them in a folder that is named with --in=DIR for the next time.
var wanted = args is [] ? ["order", "slots", "cover", "readiness", "answers", "booking"] : args;
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

if (wanted.Contains("answers"))
{
    await using var school = await DemoService.StartAsync();
    Print(await new Answers(school).MeasureAsync());
    Print(await SlotBench.MeasureHttpAsync(school));
}

if (wanted.Contains("booking") && !OperatingSystem.IsWindows())
{
    await using var school = await DemoService.StartAsync(BookingBench.Lessons);
    Print(await BookingBench.MeasureAsync(school));
}

if (wanted.Contains("scale") && !OperatingSystem.IsWindows())
{
    var sizes = args.Where(arg => int.TryParse(arg, CultureInfo.InvariantCulture, out _)).Select(arg => int.Parse(arg, CultureInfo.InvariantCulture)).ToArray();
    var (small, large) = sizes is [var few, var many] ? (few, many) : (10_000, 1_000_000);
    var keptIn = args.FirstOrDefault(arg => arg.StartsWith("--in=", StringComparison.Ordinal))?["--in=".Length..];
    await using var young = await DemoService.StartAsync(small, keptIn);
    await using var old = await DemoService.StartAsync(large, keptIn);
    Print(await new ScaleBench(young, small, old, large).MeasureAsync());
}

return 0;

static void Print(IEnumerable<string> figures)
{
    foreach (var figure in figures)
    {
        Console.Out.WriteLine(figure);
    }
}
