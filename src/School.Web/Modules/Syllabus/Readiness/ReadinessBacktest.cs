using School.Core.Syllabus.Readiness;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>The backtest of the school's finished pupils; a point names its pupil by the place in the list.</summary>
internal sealed record BacktestView(IReadOnlyList<FinishedPupil> Pupils, IReadOnlyList<BacktestPoint> Points, IReadOnlyList<BacktestSummary> Quarters)
{
    /// <summary>Fewer pupils say next to nothing.</summary>
    public const int Few = 20;

    /// <summary>How much so many pupils can tell, in a sentence.</summary>
    public string Weight()
    {
        var (least, most) = Backtest.InsideByChance(Pupils.Count);
        return Pupils.Count switch
        {
            0 => "No pupil with a recorded lesson has a passed test in the diary yet, so there is nothing to look back on.",
            1 => "One finished pupil says nothing of how good the forecasts are.",
            < Few => $"{Pupils.Count} finished pupils say little: even if the ranges are right, anything from {least} to {most} of them inside is chance.",
            _ => $"Of {Pupils.Count} finished pupils, {least} to {most} should lie inside at each point if the ranges are right.",
        };
    }
}

/// <summary>Looks back on the school's own finished pupils.</summary>
internal sealed class ReadinessBacktest(ReadinessReader reader)
{
    public async Task<BacktestView> RunAsync(CancellationToken cancel)
    {
        var finished = await reader.FinishedAsync(cancel);
        var points = finished.Backtest(await reader.TermsAsync(cancel));
        return new(finished.Pupils, points, Backtest.Summarise(points));
    }
}
