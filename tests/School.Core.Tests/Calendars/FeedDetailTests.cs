using School.Core.Calendars;
using School.Core.Travel;

namespace School.Core.Tests.Calendars;

public class FeedDetailTests
{
    private static readonly FeedSubject Lesson =
        new("Lesson", "Robin van Ashdown", "Bring glasses", "4 Elm Road, LK1 1AB", "LK1", new Coordinates(51.5, -0.1));

    [Fact]
    public void In_full_everything_is_shown() =>
        Assert.Equal(
            new FeedText("Lesson: Robin van Ashdown", "Bring glasses", "4 Elm Road, LK1 1AB", new Coordinates(51.5, -0.1)),
            FeedText.Of(Lesson, FeedDetail.Full));

    [Fact]
    public void By_area_only_initials_and_area_are_shown() =>
        Assert.Equal(new FeedText("Lesson: RVA", null, "LK1", null), FeedText.Of(Lesson, FeedDetail.Area));

    [Fact]
    public void Busy_shows_nothing_but_that() =>
        Assert.Equal(new FeedText("Busy", null, null, null), FeedText.Of(Lesson, FeedDetail.Busy));

    [Theory]
    [InlineData("élodie 山田", "É山")]
    [InlineData("🚗 x", "🚗X")]
    public void Initials_are_whole_letters_of_any_script(string person, string initials) =>
        Assert.Equal($"Lesson: {initials}", FeedText.Of(Lesson with { Person = person }, FeedDetail.Area).Summary);

    [Theory]
    [InlineData(null)]
    [InlineData("  ")]
    public void Without_a_person_the_kind_stands_alone(string? person) =>
        Assert.Equal("Lesson", FeedText.Of(Lesson with { Person = person }, FeedDetail.Area).Summary);
}
