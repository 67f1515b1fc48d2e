using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;

namespace School.Core.Tests.Syllabus;

public sealed class ReadinessForecastTests
{
    private static readonly LocalDate Monday = new(2026, 3, 2);
    private static readonly ReadinessTerms Terms = new(["a", "b", "c", "d"]);
    private static readonly Experience Published = Experience.Of(Terms, []);

    [Fact]
    public void Before_the_first_lesson_it_is_the_published_average_and_wide()
    {
        var forecast = ReadinessForecast.Of(new([], []), Monday, Terms, Published);

        // The published 45 hours (from memory) are a mean, which lies above the middle of a skewed spread.
        Assert.InRange(forecast.LessonHours.Median, 38, 45);
        Assert.InRange(forecast.LessonHours.High / forecast.LessonHours.Low, 2.5, 3.5);
        Assert.Equal((null, null, false), (forecast.Score, forecast.Weeks, forecast.Ready));
        Assert.Contains("no pace", forecast.NoWeeks, StringComparison.Ordinal);
    }

    [Fact]
    public void A_quick_pupil_has_less_to_go_than_a_slow_one_and_both_ranges_narrow()
    {
        var start = ReadinessForecast.Of(new([], []), Monday, Terms, Published);
        var quick = After(20, 3);
        var slow = After(20, 1);
        Assert.True(quick.LessonHours.High < slow.LessonHours.Median, $"{quick.LessonHours} {slow.LessonHours}");
        Assert.True(Width(quick) < Width(start));
        Assert.True(slow.LessonHours.Median > start.LessonHours.Median - 20);
    }

    [Fact]
    public void Weeks_are_the_hours_left_at_the_recent_pace()
    {
        var once = After(20, 3, daysApart: 7);
        var twice = After(20, 3, daysApart: 3);
        Assert.Equal(1, once.HoursPerWeek);
        Assert.Equal(once.LessonHours.Median, once.Weeks!.Value.Median, 0.05 * once.LessonHours.Median);
        Assert.True(twice.Weeks!.Value.Median < 0.6 * once.Weeks.Value.Median);

        // The pace to come is uncertain too.
        Assert.True(once.Weeks.Value.High > once.LessonHours.High);
    }

    [Fact]
    public void Without_a_lesson_for_eight_weeks_there_are_hours_and_no_weeks()
    {
        var course = Course(20, 3);
        var forecast = ReadinessForecast.Of(course, course.Lessons[^1].On.PlusDays(56), Terms, Published);
        Assert.Null(forecast.Weeks);
        Assert.Null(forecast.HoursPerWeek);
        Assert.Equal("There was no lesson in the last eight weeks, so there is no pace to reckon weeks with.", forecast.NoWeeks);
        Assert.NotNull(ReadinessForecast.Of(course, course.Lessons[^1].On.PlusDays(55), Terms, Published).Weeks);
    }

    [Fact]
    public void Every_counted_skill_at_Independent_is_ready_and_nothing_is_left()
    {
        var forecast = After(20, 4);
        Assert.Equal((true, default(ReadinessRange), default(ReadinessRange?)!.GetValueOrDefault()), (forecast.Ready, forecast.LessonHours, forecast.Weeks!.Value));
        Assert.Equal(forecast.LessonHours, After(20, 5).LessonHours);
    }

    [Fact]
    public void A_level_that_goes_down_again_ends_ready()
    {
        var course = Course(20, 4);
        var down = course with { Lessons = [.. course.Lessons, new(course.Lessons[^1].On, 60, [new("b", SkillLevel.Prompted)])] };
        var forecast = ReadinessForecast.Of(down, course.Lessons[^1].On, Terms, Published);
        Assert.False(forecast.Ready);
        Assert.InRange(forecast.LessonHours.Median, 0.1, 10);
    }

    [Fact]
    public void A_skill_never_marked_keeps_a_pupil_from_ready_and_one_that_does_not_count_neither_helps_nor_hinders()
    {
        var course = Course(20, 4);
        Assert.False(Of(course, new(["a", "b", "c", "d", "e"])).Ready);
        TaughtLesson motorway = new(course.Lessons[^1].On, 60, [new("motorways", SkillLevel.Introduced)]);
        Assert.True(Of(course with { Lessons = [.. course.Lessons, motorway] }, Terms).Ready);
    }

    [Fact]
    public void Lessons_without_marks_count_their_hours_and_tell_nothing_of_levels()
    {
        var course = new Course([.. Enumerable.Range(0, 30).Select(week => new TaughtLesson(Monday.PlusWeeks(week), 60, []))], []);
        var forecast = Of(course, Terms);
        Assert.Null(forecast.Score);
        var start = ReadinessForecast.Of(new([], []), Monday, Terms, Published);
        Assert.InRange(forecast.LessonHours.Median, start.LessonHours.Median - 30, start.LessonHours.Median);
    }

    [Fact]
    public void Practice_counts_at_its_weight_and_going_on_with_it_saves_lessons()
    {
        var course = Course(20, 2);
        var practised = course with { Practice = [.. course.Lessons.Select(lesson => new PracticeTime(lesson.On, 120))] };
        var without = Of(practised, new(["a", "b", "c", "d"], 0));
        Assert.Equal(40, without.Practised);
        Assert.Equal(course.LessonHours, without.Taught);

        // At no weight it is as if there had been none.
        var bare = Of(course, new(["a", "b", "c", "d"], 0));
        Assert.Equal(bare.LessonHours, without.LessonHours);

        // Half of the counted hours to come are practice: an hour of lessons a week, and two of practice at a half.
        var weighted = ReadinessForecast.Of(practised, course.Lessons[^1].On, Terms, Published);
        Assert.Equal(weighted.LessonHours.Median, weighted.Weeks!.Value.Median, 0.1 * weighted.LessonHours.Median);
    }

    [Fact]
    public void A_school_whose_pupils_take_long_expects_it_of_the_next_one()
    {
        var finished = Enumerable.Range(0, 30).Select(_ => FinishedCourse.Of(Finished(80), Terms)!).ToList();
        var some = ReadinessForecast.Of(new([], []), Monday, Terms, Experience.Of(Terms, [.. finished.Take(3)]));
        var many = ReadinessForecast.Of(new([], []), Monday, Terms, Experience.Of(Terms, finished));
        var none = ReadinessForecast.Of(new([], []), Monday, Terms, Published);
        Assert.True(none.LessonHours.Median < some.LessonHours.Median && some.LessonHours.Median < many.LessonHours.Median);
        Assert.Equal((0, 3, 30), (none.Finished, some.Finished, many.Finished));
    }

    [Fact]
    public void A_finished_course_ends_where_the_record_first_came_to_ready_and_else_with_its_last_lesson()
    {
        var course = Finished(40);
        var longer = course with { Lessons = [.. course.Lessons, new(course.Lessons[^1].On.PlusWeeks(1), 60, [])] };
        Assert.Equal((40, 40.0), (FinishedCourse.Of(longer, Terms)!.Lessons, FinishedCourse.Of(longer, Terms)!.LessonHours));
        var never = FinishedCourse.Of(Course(25, 3), Terms)!;
        Assert.Equal((25, null), (never.Lessons, never.Bend));
        Assert.Null(FinishedCourse.Of(new([], []), Terms));
    }

    [Fact]
    public void Great_Britains_terms_leave_out_what_the_test_does_not_wait_for()
    {
        SyllabusEdition edition = new(1, [new("All", [new() { Key = "junctions", Name = "Junctions" }, new() { Key = "motorways", Name = "Motorways" }])]);
        Assert.Equal(["junctions"], ReadinessTerms.Of(edition).Skills);
        SyllabusEdition only = new(1, [new("All", [new() { Key = "motorways", Name = "Motorways" }])]);
        Assert.Equal(["motorways"], ReadinessTerms.Of(only).Skills);
    }

    [Fact]
    public void Nonsense_is_refused()
    {
        TaughtLesson fine = new(Monday, 60, [new("a", SkillLevel.Helped)]);
        Refused(new([fine, fine with { On = Monday.PlusDays(-1) }], []));
        Refused(new([fine with { Minutes = 0 }], []));
        Refused(new([fine with { Minutes = 1441 }], []));
        Refused(new([fine with { Marks = [new("a", (SkillLevel)6)] }], []));
        Refused(new([fine with { Marks = [new("a", SkillLevel.Helped), new("a", SkillLevel.Prompted)] }], []));
        Refused(new([fine with { On = Monday.PlusDays(1) }], []));
        Refused(new([fine], [new(Monday, -5)]));
        Refused(new([fine], [new(Monday.PlusDays(1), 30)]));
        Assert.Throws<ArgumentException>(() => new ReadinessTerms([]));
        Assert.Throws<ArgumentException>(() => new ReadinessTerms(["a", "a"]));
        Assert.Throws<ArgumentOutOfRangeException>(() => new ReadinessTerms(["a"], 1.5));
        Assert.Throws<ArgumentOutOfRangeException>(() => new ReadinessTerms(["a"], double.NaN));

        static void Refused(Course course) => Assert.ThrowsAny<ArgumentException>(() => ReadinessForecast.Of(course, Monday, Terms, Published));
    }

    private static double Width(ReadinessForecast forecast) => forecast.LessonHours.High - forecast.LessonHours.Low;

    private static ReadinessForecast After(int lessons, int level, int daysApart = 7) => Of(Course(lessons, level, daysApart), Terms);

    private static ReadinessForecast Of(Course course, ReadinessTerms terms) =>
        ReadinessForecast.Of(course, course.Lessons[^1].On, terms, Experience.Of(terms, []));

    /// <summary>Hourly lessons, the last of which marks all four skills at a level.</summary>
    private static Course Course(int lessons, int level, int daysApart = 7) => new(
        [.. Enumerable.Range(0, lessons).Select(i => new TaughtLesson(Monday.PlusDays(i * daysApart), 60, i < lessons - 1 ? [] : All(level)))],
        []);

    /// <summary>Hourly lessons with levels that grow evenly and are all there with the last one.</summary>
    private static Course Finished(int lessons) => new(
        [.. Enumerable.Range(1, lessons).Select(i => new TaughtLesson(Monday.PlusWeeks(i), 60, All(Math.Max(1, 4 * i / lessons))))],
        []);

    private static IReadOnlyList<SkillMark> All(int level) => [.. Terms.Skills.Select(skill => new SkillMark(skill, (SkillLevel)level))];
}
