using NodaTime;
using School.Web.Platform.Layout;
using Xunit;

namespace School.Web.Tests.Platform.Layout;

public sealed class ScreenWordsTests
{
    [Fact]
    public void A_time_is_shown_with_its_weekday_date_start_and_end() =>
        Assert.Equal("Friday 15 January, 10:15–11:15", ScreenWords.When(new LocalDate(2027, 1, 15), new LocalTime(10, 15), new LocalTime(11, 15)));

    [Theory]
    [InlineData(0, 5, "12:05 am")]
    [InlineData(9, 30, "9:30 am")]
    [InlineData(12, 0, "12:00 pm")]
    [InlineData(14, 15, "2:15 pm")]
    public void A_school_may_count_in_twelve_hours(int hour, int minute, string words) =>
        Assert.Equal(words, ScreenWords.Time(new LocalTime(hour, minute), twelveHour: true));

    [Theory]
    [InlineData(50, "50 min")]
    [InlineData(60, "1 hour")]
    [InlineData(90, "1½ hours")]
    [InlineData(100, "1 h 40 min")]
    [InlineData(390, "6½ hours")]
    [InlineData(-60, "−1 hour")]
    public void A_length_is_said_as_people_say_it(int minutes, string words) => Assert.Equal(words, ScreenWords.Length(minutes));

    [Theory]
    [InlineData(3400, "£34.00")]
    [InlineData(-1205, "−£12.05")]
    [InlineData(123456789, "£1,234,567.89")]
    public void Money_is_pounds_and_pence(long pence, string words) => Assert.Equal(words, ScreenWords.Money(pence));
}
