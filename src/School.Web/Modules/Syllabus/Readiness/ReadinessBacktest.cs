using School.Core.Syllabus.Readiness;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>The backtest of the school's finished pupils; a point names its pupil by the place in the list.</summary>
internal sealed record BacktestView(IReadOnlyList<FinishedPupil> Pupils, IReadOnlyList<BacktestPoint> Points, IReadOnlyList<BacktestSummary> Quarters)
{
    /// <summary>The points of those of whom the viewer sees more than the name; the others are counted alone.</summary>
    public IReadOnlyList<BacktestPoint> Shown { get; init; } = Points;

    /// <summary>How many are counted and not shown.</summary>
    public int CountedAlone { get; init; }

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
internal sealed class ReadinessBacktest(ReadinessReader reader, OwnPupils own, SchoolInfo school)
{
    public async Task<BacktestView> RunAsync(Viewer viewer, CancellationToken cancel)
    {
        var finished = await reader.FinishedAsync(cancel);
        var points = finished.Backtest(await reader.TermsAsync(cancel));
        var shown = await SeenAsync(viewer, finished.Pupils, cancel);
        return new(finished.Pupils, points, Backtest.Summarise(points))
        {
            Shown = [.. points.Where(point => shown.Contains(finished.Pupils[point.Pupil].PupilId))],
            CountedAlone = finished.Pupils.Count(pupil => !shown.Contains(pupil.PupilId)),
        };
    }

    private async Task<HashSet<Guid>> SeenAsync(Viewer viewer, IReadOnlyList<FinishedPupil> pupils, CancellationToken cancel)
    {
        Guid[] all = [.. pupils.Select(pupil => pupil.PupilId)];
        // Whoever looks after the settings alone sees no pupil: it is the figures that they are shown, and where pupils are the school's, the names beside them.
        if (!viewer.SeesPupils)
        {
            return (await school.GetAsync(cancel)).PupilsBelongToInstructor ? [] : [.. all];
        }

        var sees = await own.OfAsync(viewer, all, cancel);
        return [.. all.Where(id => sees.GetValueOrDefault(id) != Sight.Name)];
    }
}
