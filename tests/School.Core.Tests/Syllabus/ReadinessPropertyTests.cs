using CsCheck;
using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;

namespace School.Core.Tests.Syllabus;

public sealed class ReadinessPropertyTests
{
    private const int Most = 6;
    private static readonly LocalDate First = new(2026, 1, 5);
    private static readonly ReadinessTerms Terms = new([.. Enumerable.Range(0, Most).Select(Key)]);

    // One lesson: days since the one before, minutes, and a level for each skill, 0 for no mark.
    private static readonly Gen<(int Days, int Minutes, int[] Levels)[]> Lessons =
        Gen.Select(Gen.Int[0, 20], Gen.Int[30, 180], Gen.Int[0, 5].Array[Most]).Array[0, 40];

    private static readonly Gen<(int Days, int Minutes)[]> Practice = Gen.Select(Gen.Int[0, 400], Gen.Int[10, 240]).Array[0, 20];

    private static readonly Gen<double[]> Finished = Gen.Double[15, 120].Array[0, 12];

    private static readonly Gen<(Course Course, Experience Experience)> Cases = Gen.Select(Lessons, Practice, Finished,
        (lessons, practice, finished) => (Make(lessons, practice), Known(finished)));

    [Fact]
    public void Ranges_are_in_order_finite_and_never_negative() => Cases.Sample(@case =>
    {
        var forecast = Of(@case.Course, @case.Experience);
        Ordered(forecast.LessonHours);
        Assert.Equal(forecast.Weeks is null, forecast.NoWeeks is not null);
        if (forecast.Weeks is { } weeks)
        {
            Ordered(weeks);
        }

        Assert.Equal(forecast.Ready, forecast.LessonHours.High == 0);

        static void Ordered(ReadinessRange range)
        {
            Assert.True(0 <= range.Low && range.Low <= range.Median && range.Median <= range.High, $"{range}");
            Assert.True(double.IsFinite(range.High), $"{range}");
        }
    });

    [Fact]
    public void Raising_every_level_never_lengthens_the_median() => Cases.Sample(@case =>
    {
        var (before, after) = (Of(@case.Course, @case.Experience), Of(Raised(@case.Course), @case.Experience));
        Assert.True(after.LessonHours.Median <= before.LessonHours.Median + 1e-9, $"{before.LessonHours} {after.LessonHours}");
        Assert.True(after.Ready || !before.Ready);
    });

    [Fact]
    public void Raising_one_level_of_the_last_marks_never_lengthens_the_median() =>
        Gen.Select(Cases, Gen.Int[0, Most - 1]).Sample((@case, skill) =>
        {
            var (before, after) = (Of(@case.Course, @case.Experience), Of(Raised(@case.Course, Key(skill)), @case.Experience));
            Assert.True(after.LessonHours.Median <= before.LessonHours.Median + 1e-9, $"{before.LessonHours} {after.LessonHours}");
        });

    [Fact]
    public void Names_and_order_of_skills_change_nothing() => Gen.Select(Cases, Gen.Shuffle(Enumerable.Range(0, Most).ToArray())).Sample((@case, order) =>
    {
        var renamed = @case.Course with
        {
            Lessons = [.. @case.Course.Lessons.Select(lesson => lesson with
            {
                Marks = [.. lesson.Marks.Select(mark => mark with { Skill = Key(order[int.Parse(mark.Skill[1..], null)]) }).Reverse()],
            })],
        };
        Assert.Equal(Of(@case.Course, @case.Experience), Of(renamed, @case.Experience));
    });

    [Fact]
    public void The_same_record_gives_the_same_forecast_and_the_order_of_practice_does_not_matter() => Cases.Sample(@case =>
    {
        var turned = @case.Course with { Practice = [.. @case.Course.Practice.Reverse()] };
        Assert.Equal(Of(@case.Course, @case.Experience), Of(@case.Course, @case.Experience));
        Assert.Equal(Of(@case.Course, @case.Experience).LessonHours.Median, Of(turned, @case.Experience).LessonHours.Median, 1e-6);
    });

    [Fact]
    public void Longer_courses_of_others_never_shorten_the_forecast_before_the_first_lesson() =>
        Gen.Select(Finished.Where(hours => hours.Length > 0), Gen.Double[1, 2]).Sample((hours, factor) =>
        {
            var (shorter, longer) = (Of(new([], []), Known(hours)), Of(new([], []), Known([.. hours.Select(one => one * factor)])));

            // The middle moves up; the range may widen on both sides.
            Assert.True(longer.LessonHours.Median >= shorter.LessonHours.Median - 0.01, $"{shorter.LessonHours} {longer.LessonHours}");
        });

    /// <summary>The same posterior by sums over even steps of the whole course and of the bend, written down a second time.</summary>
    [Fact]
    public void The_grid_agrees_with_the_integral_in_small_even_steps() =>
        Gen.Select(Gen.Int[2, 60], Gen.Int[1, 3].Array[Most], Finished).Sample((lessons, levels, finished) =>
        {
            var course = Make([.. Enumerable.Range(0, lessons).Select(i => (7, 60, i == lessons - 1 ? levels : new int[Most]))], []);
            var experience = Known(finished);
            var range = Of(course, experience).LessonHours;

            // At a lesson a week, the last eight weeks and the three published hours give the share of lessons in what is to come.
            var recent = Math.Min(lessons, 8) + 3.0;
            var share = recent / (recent + (0.5 * 3 * 22 / 45));
            var expected = ByEvenSteps(lessons, levels.Sum() / (4.0 * Most), experience);
            Assert.Equal(expected.Low * share, range.Low, 0.25 + (0.03 * range.Low));
            Assert.Equal(expected.Median * share, range.Median, 0.25 + (0.03 * range.Median));
            Assert.Equal(expected.High * share, range.High, 0.25 + (0.03 * range.High));
        }, iter: 8);

    private static ReadinessRange ByEvenSteps(double hours, double score, Experience experience)
    {
        var bends = Enumerable.Range(0, 121).Select(i => -3 + (i / 10.0) + 1e-6).Select(bend => (bend, Math.Exp(experience.Bend.LogDensity(bend)))).ToList();
        var mass = new List<(double Left, double Mass)>();
        for (var left = 0.05; left < 1500; left += 0.1)
        {
            var (whole, likelihood) = (hours + left, 0.0);
            foreach (var (bend, weight) in bends)
            {
                var at = (1 - Math.Exp(-bend * hours / whole)) / (1 - Math.Exp(-bend));
                var deviation = Math.Sqrt((0.13 * 0.13 * at * (1 - at)) + (0.01 * 0.01));
                likelihood += weight / deviation * Math.Exp(-0.5 * Math.Pow((score - at) / deviation, 2));
            }

            mass.Add((left, likelihood * Math.Exp(experience.LogHours.LogDensity(Math.Log(whole))) / whole));
        }

        var all = mass.Sum(one => one.Mass);
        return new(Below(0.1), Below(0.5), Below(0.9));

        double Below(double chance)
        {
            var sum = 0.0;
            return mass.First(one => (sum += one.Mass) >= chance * all).Left;
        }
    }

    private static string Key(int skill) => $"s{skill}";

    /// <summary>On the day of the last lesson, with the practice up to then.</summary>
    private static ReadinessForecast Of(Course course, Experience experience) =>
        ReadinessForecast.Of(course.First(course.Lessons.Count), course.Lessons.Count == 0 ? First : course.Lessons[^1].On, Terms, experience);

    private static Experience Known(double[] hours) =>
        Experience.Of(Terms, [.. hours.Select((one, i) => new FinishedCourse(First, 1, one, one, i % 3 == 0 ? null : i / 4.0))]);

    private static Course Make((int Days, int Minutes, int[] Levels)[] lessons, (int Days, int Minutes)[] practice)
    {
        var on = First;
        return new(
            [.. lessons.Select(lesson => new TaughtLesson(
                on = on.PlusDays(lesson.Days),
                lesson.Minutes,
                [.. lesson.Levels.Select((level, skill) => (level, skill)).Where(one => one.level > 0).Select(one => new SkillMark(Key(one.skill), (SkillLevel)one.level))]))],
            [.. practice.Select(time => new PracticeTime(First.PlusDays(time.Days), time.Minutes))]);
    }

    private static Course Raised(Course course, string? skill = null) => course with
    {
        Lessons = [.. course.Lessons.Select(lesson => lesson with
        {
            Marks = [.. lesson.Marks.Select(mark => skill is null || mark.Skill == skill ? mark with { Level = (SkillLevel)Math.Min(5, (int)mark.Level + 1) } : mark)],
        })],
    };
}
