using School.Benchmarks;

foreach (var figure in DayProgramBench.Measure().Concat(SlotBench.MeasureKernel()))
{
    Console.Out.WriteLine(figure);
}

await using var school = await DemoService.StartAsync();
foreach (var figure in await new Answers(school).MeasureAsync())
{
    Console.Out.WriteLine(figure);
}

foreach (var figure in await SlotBench.MeasureHttpAsync(school))
{
    Console.Out.WriteLine(figure);
}

return 0;
