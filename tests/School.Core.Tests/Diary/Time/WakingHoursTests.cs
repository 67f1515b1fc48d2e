using NodaTime;
using School.Core.Diary.Time;

namespace School.Core.Tests.Diary.Time;

/// <summary>The hours are common practice, no source; the clocks of London change on 29 March and 25 October 2026 (gov.uk).</summary>
public class WakingHoursTests
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly WakingHours Hours = new(new(9, 0), new(20, 0));

    [Theory]
    [InlineData(2, 8, 59, 2, 9, 0)]
    [InlineData(2, 9, 0, 2, 9, 0)]
    [InlineData(2, 14, 30, 2, 14, 30)]
    [InlineData(2, 20, 0, 2, 20, 0)]
    [InlineData(2, 20, 1, 2, 20, 0)]
    [InlineData(2, 0, 0, 2, 9, 0)]
    public void What_would_fall_into_the_night_is_put_to_its_nearer_end_on_the_same_date(int day, int hour, int minute, int toDay, int toHour, int toMinute) =>
        Assert.Equal(At(3, toDay, toHour, toMinute), Hours.Nearest(At(3, day, hour, minute), London));

    [Fact]
    public void Time_that_passes_at_night_does_not_count()
    {
        Assert.Equal(At(3, 3, 9, 30), Hours.After(At(3, 2, 19, 30), Duration.FromHours(1), London));
        Assert.Equal(At(3, 2, 10, 0), Hours.After(At(3, 2, 3, 0), Duration.FromHours(1), London));
        Assert.Equal(At(3, 4, 10, 0), Hours.After(At(3, 2, 19, 0), Duration.FromHours(13), London));
        // Over both clock changes of the year: eleven hours each day, whatever the night was.
        Assert.Equal(At(3, 29, 9, 1), Hours.After(At(3, 28, 19, 59), Duration.FromMinutes(2), London));
        Assert.Equal(At(10, 25, 9, 1), Hours.After(At(10, 24, 19, 59), Duration.FromMinutes(2), London));
    }

    private static Instant At(int month, int day, int hour, int minute) => new LocalDateTime(2026, month, day, hour, minute).InZoneStrictly(London).ToInstant();
}
