using School.Benchmarks;

// Without arguments everything; "cover" or "answers" for one part.
if (args is [] or ["cover"])
{
    Print(CoverBench.Measure());
}

if (args is [] or ["answers"])
{
    await using var school = await DemoService.StartAsync();
    Print(await new Answers(school).MeasureAsync());
}

return 0;

static void Print(IEnumerable<string> figures)
{
    foreach (var figure in figures)
    {
        Console.Out.WriteLine(figure);
    }
}
