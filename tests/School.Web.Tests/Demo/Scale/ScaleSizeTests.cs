using NodaTime;
using School.Web.Demo.Scale;
using School.Web.Platform;
using School.Web.Tests.Host;
using Xunit;

namespace School.Web.Tests.Demo.Scale;

public sealed class ScaleSizeTests
{
    private static readonly LocalDate Today = new(2026, 3, 2);

    public static TheoryData<int> Sizes => [500, 501, 659, 660, 661, 690, 721, 2000, 9_999, 10_000, 10_001, 123_456, 1_000_000];

    [Theory]
    [MemberData(nameof(Sizes))]
    public void Every_size_comes_to_its_number_in_courses_of_thirty_to_sixty_lessons(int lessons)
    {
        var size = new ScaleSize(lessons);
        var all = size.Courses().Concat(size.Behind().Select(behind => behind + ScaleSize.AheadEach)).ToList();
        Assert.Equal(lessons, all.Sum());
        Assert.All(all, course => Assert.InRange(course, ScaleSize.ShortestCourse, ScaleSize.LongestCourse));
    }

    [Fact]
    public void The_present_is_the_same_from_ten_thousand_lessons_on()
    {
        Assert.Equal((30, 300), (new ScaleSize(10_000).Instructors, new ScaleSize(10_000).PresentPupils));
        Assert.Equal((30, 300), (new ScaleSize(1_000_000).Instructors, new ScaleSize(1_000_000).PresentPupils));
        Assert.Equal(new ScaleSize(10_000).Behind(), new ScaleSize(1_000_000).Behind());
    }

    [Theory]
    [InlineData(500)]
    [InlineData(10_000)]
    [InlineData(1_000_000)]
    public void All_courses_find_their_places_within_ten_years_and_no_two_the_same(int lessons)
    {
        var size = new ScaleSize(lessons);
        var calendar = new ScaleCalendar(Today, SchoolHost.London);
        var courses = new ScaleCourses(size, calendar);
        var (past, present) = (courses.OfPast(), courses.OfPresent().ToList());
        Assert.Equal(lessons, past.Concat(present).Sum(course => course.Starts.Count));
        var places = past.Concat(present).SelectMany(course => course.Starts.Select(start => (course.Instructor, start))).ToList();
        Assert.Equal(places.Count, places.ToHashSet().Count);
        Assert.All(past, course => Assert.True(course.Starts[0].Date >= calendar.Start && course.Starts[^1].Date < calendar.Present));
        Assert.All(present, course => Assert.True(course.Starts[0].Date >= calendar.Present));
        Assert.All(present, course => Assert.Equal(ScaleSize.AheadEach, course.Starts.Count(start => start.Date >= Today)));
    }

    [Fact]
    public void Another_day_has_other_lessons()
    {
        var days = new[] { Today, Today.PlusDays(1) }.Select(today => new ScaleCourses(new(2000), new(today, SchoolHost.London)).OfPresent().SelectMany(course => course.Starts).ToList()).ToList();
        Assert.NotEqual(days[0], days[1]);
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("many")]
    [InlineData("-2000")]
    [InlineData("2 000")]
    [InlineData("499")]
    [InlineData("1000001")]
    [InlineData("99999999999")]
    public void What_is_no_number_of_lessons_is_refused_with_the_bounds(string? text) =>
        Assert.Contains("500 to 1000000", Assert.Throws<CannotStartException>(() => ScaleSize.Read(text)).Message, StringComparison.Ordinal);
}
