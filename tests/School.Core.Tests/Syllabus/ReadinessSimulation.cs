using School.Core.Syllabus.Readiness;

namespace School.Core.Tests.Syllabus;

/// <summary>The backtest over 2,000 simulated pupils: 50 schools of 40, whose forecasts know only pupils of their own school that had finished.</summary>
internal sealed record ReadinessSimulation(int Pupils, IReadOnlyList<BacktestPoint> Points, IReadOnlyList<BacktestSummary> Quarters)
{
    private const int Schools = 50;
    private const int PupilsEach = 40;

    public static ReadinessSimulation Run(int seed, double difficulty = SimulatedSchool.UsualDifficulty)
    {
        var points = Enumerable.Range(0, Schools).AsParallel().AsOrdered()
            .SelectMany(school => Backtest.Of(SimulatedSchool.Courses((seed * 1000) + school, PupilsEach, difficulty), SimulatedSchool.Terms))
            .ToList();
        return new(Schools * PupilsEach, points, Backtest.Summarise(points));
    }

    /// <summary>Mean absolute error over the quarters of a course that has begun, and of the published average less the hours taught.</summary>
    public (double Own, double Fixed) MeanErrors
    {
        get
        {
            var begun = Points.Where(point => point.Quarter > 0).ToList();
            return (begun.Average(point => point.Error), begun.Average(point => point.FixedError));
        }
    }

    /// <summary>The share of pupils, quarter by quarter, whose weeks lay in the range of weeks, where there was one.</summary>
    public IEnumerable<(int Quarter, double Coverage)> WeeksCoverage() =>
        Points.Where(point => point.Forecast.Weeks is not null).GroupBy(point => point.Quarter).OrderBy(group => group.Key)
            .Select(group => (group.Key, group.Average(point => point.Forecast.Weeks!.Value.Holds(point.WeeksToCome) ? 1.0 : 0.0)));
}
