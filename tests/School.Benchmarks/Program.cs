using School.Benchmarks;

foreach (var figure in DayProgramBench.Measure())
{
    Console.Out.WriteLine(figure);
}

await using var school = await DemoService.StartAsync();
foreach (var figure in await new Answers(school).MeasureAsync())
{
    Console.Out.WriteLine(figure);
}

return 0;
