namespace School.Core.Tests.Syllabus;

/// <summary>Pupils of <see cref="SimulatedSchool"/>, whose law is not that of the forecast. The seed is the year in which this was written.</summary>
public sealed class ReadinessCalibrationTests
{
    private static readonly Lazy<ReadinessSimulation> Simulation = new(() => ReadinessSimulation.Run(2026));

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void Four_in_five_of_2000_simulated_pupils_lie_in_the_range_at_each_quarter(int quarter)
    {
        var summary = Simulation.Value.Quarters[quarter];
        Assert.Equal((quarter, 2000), (summary.Quarter, summary.Pupils));
        Assert.InRange(summary.Coverage, 0.75, 0.85);
    }

    [Fact]
    public void Weeks_hold_four_in_five_as_well_once_a_course_has_begun()
    {
        var weeks = Simulation.Value.WeeksCoverage().ToList();
        Assert.Equal([1, 2, 3], weeks.Select(quarter => quarter.Quarter));
        Assert.All(weeks, quarter => Assert.InRange(quarter.Coverage, 0.75, 0.85));
    }

    [Fact]
    public void The_median_error_falls_from_quarter_to_quarter()
    {
        var errors = Simulation.Value.Quarters.Select(quarter => quarter.MedianError).ToList();
        Assert.Equal(4, errors.Count);
        Assert.All(errors.Zip(errors.Skip(1)), pair => Assert.True(pair.Second < pair.First, $"{pair.First} → {pair.Second}"));
    }

    [Fact]
    public void It_beats_the_published_average_less_the_hours_taught_by_three_tenths_at_least()
    {
        var (own, fixedGuess) = Simulation.Value.MeanErrors;
        Assert.True(own <= 0.7 * fixedGuess, $"{own:0.00} h against {fixedGuess:0.00} h");
        Assert.All(Simulation.Value.Quarters.Where(quarter => quarter.Quarter > 1), quarter =>
            Assert.True(quarter.MeanError <= 0.7 * quarter.FixedMeanError, $"{quarter}"));
    }

    [Fact]
    public void The_simulated_pupils_are_like_pupils_and_differ_from_each_other()
    {
        var whole = Simulation.Value.Points.Where(point => point.Quarter == 0).Select(point => point.HoursToCome).Order().ToList();
        Assert.InRange(whole.Average(), 40, 60);
        Assert.InRange(whole[^200] / whole[199], 2, 4);
        Assert.Contains(Enumerable.Range(0, 10).SelectMany(seed => SimulatedSchool.Courses(seed, 5)).SelectMany(course => course.Lessons), lesson => lesson.Marks.Count == 0);
    }
}
