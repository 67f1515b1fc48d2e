using School.Benchmarks;

await using var school = await DemoService.StartAsync();
foreach (var figure in await new Answers(school).MeasureAsync())
{
    Console.Out.WriteLine(figure);
}

return 0;
