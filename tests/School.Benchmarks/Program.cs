using School.Benchmarks;

// Without arguments everything; the name of a part for that part.
var wanted = args is [] ? ["order", "slots", "cover", "readiness", "answers"] : args;
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

return 0;

static void Print(IEnumerable<string> figures)
{
    foreach (var figure in figures)
    {
        Console.Out.WriteLine(figure);
    }
}
