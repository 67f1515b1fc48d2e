using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;

namespace School.Core.Tests.Syllabus;

public sealed class BacktestTests
{
    private static readonly LocalDate Start = new(2025, 1, 6);
    private static readonly ReadinessTerms Terms = new(["a"]);

    [Fact]
    public void Each_course_is_looked_at_before_its_first_lesson_and_after_each_quarter_of_its_hours()
    {
        var points = Backtest.Of([Course(40, Start)], Terms);
        Assert.Equal([(0, 40.0), (1, 30.0), (2, 20.0), (3, 10.0)], points.Select(point => (point.Quarter, point.HoursToCome)));
        Assert.Equal([0.0, 10, 20, 30], points.Select(point => point.Forecast.Taught));
        Assert.Equal([39.0, 30, 20, 10], points.Select(point => point.WeeksToCome));

        // 45 hours for everybody, less those taught.
        Assert.All(points, point => Assert.Equal(5, point.FixedError, 1e-9));
    }

    [Fact]
    public void A_forecast_knows_only_pupils_whose_course_had_ended_before_its_day()
    {
        // The second pupil's first quarter ends on the very day of the other's last lesson.
        var points = Backtest.Of([Course(10, Start), Course(40, Start)], Terms);
        Assert.Equal([0, 0, 0, 0, 0, 0, 1, 1], points.Select(point => point.Forecast.Finished));
    }

    [Fact]
    public void Practice_after_the_day_of_a_forecast_is_not_known_to_it()
    {
        var course = Course(40, Start) with { Practice = [new(Start.PlusWeeks(15), 120)] };
        Assert.Equal([0.0, 0, 2, 2], Backtest.Of([course], Terms).Select(point => point.Forecast.Practised));
    }

    [Fact]
    public void Courses_without_lessons_are_passed_over_and_keep_their_place()
    {
        var points = Backtest.Of([new([], []), Course(8, Start)], Terms);
        Assert.All(points, point => Assert.Equal(1, point.Pupil));
        Assert.Equal(4, points.Count);
        Assert.Empty(Backtest.Summarise(Backtest.Of([], Terms)));
    }

    [Theory]
    [InlineData(1, new[] { 0 })]
    [InlineData(2, new[] { 0, 1, 2 })]
    [InlineData(3, new[] { 0, 1, 2 })]
    public void A_quarter_at_which_no_lesson_was_to_come_is_passed_over(int lessons, int[] quarters)
    {
        // Fifty minutes are no exact number of hours.
        var course = new Course([.. Course(lessons, Start).Lessons.Select(lesson => lesson with { Minutes = 50 })], []);
        Assert.Equal(quarters, Backtest.Of([course], Terms).Select(point => point.Quarter));
    }

    [Fact]
    public void The_summary_counts_those_inside_and_takes_the_middle_and_the_mean_of_the_errors()
    {
        var points = Backtest.Of([Course(20, Start), Course(40, Start.PlusYears(2)), Course(70, Start.PlusYears(4))], Terms);
        var half = Backtest.Summarise(points).Single(summary => summary.Quarter == 2);
        var errors = points.Where(point => point.Quarter == 2).Select(point => point.Error).Order().ToList();
        Assert.Equal((3, errors[1]), (half.Pupils, half.MedianError));
        Assert.Equal(errors.Average(), half.MeanError, 1e-9);
        Assert.Equal(points.Count(point => point.Quarter == 2 && point.Forecast.LessonHours.Holds(point.HoursToCome)), half.Inside);
        Assert.Equal(half.Inside / 3.0, half.Coverage);
    }

    // Tables of the binomial law with p = 0.8, from memory: P(X ≤ 4) = 0.0064, P(X ≤ 5) = 0.0328, P(X ≤ 9) = 0.8926 for ten;
    // P(X ≤ 11) = 0.0100, P(X ≤ 12) = 0.0321, P(X ≤ 18) = 0.9308, P(X ≤ 19) = 0.9885 for twenty.
    [Theory]
    [InlineData(0, 0, 0)]
    [InlineData(1, 0, 1)]
    [InlineData(10, 5, 10)]
    [InlineData(20, 12, 19)]
    public void How_many_lie_inside_by_chance_is_the_binomial_law(int pupils, int least, int most) =>
        Assert.Equal((least, most), Backtest.InsideByChance(pupils));

    /// <summary>Hourly lessons every week; the one skill is Independent with the last.</summary>
    private static Course Course(int lessons, LocalDate from) => new(
        [.. Enumerable.Range(1, lessons).Select(i => new TaughtLesson(from.PlusWeeks(i - 1), 60, [new("a", i == lessons ? SkillLevel.Independent : i * 3 > lessons ? SkillLevel.Prompted : SkillLevel.Helped)]))],
        []);
}
