using NodaTime;
using School.Core.Pupils;

namespace School.Core.Tests.Pupils;

public sealed class AvailableTimeTests
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly AvailableTime Morning = new(IsoDayOfWeek.Monday, new(9, 0), new(12, 0));
    private static readonly AvailableTime Afternoon = new(IsoDayOfWeek.Monday, new(12, 0), new(15, 0));
    private static readonly LocalDate Monday = new(2026, 6, 8);

    [Fact]
    public void A_lesson_across_two_times_that_touch_is_held()
    {
        Assert.True(AvailableTime.Holds([Afternoon, Morning], Lesson(Monday, 11, 60 + 30), London));
        Assert.False(AvailableTime.Holds([Morning], Lesson(Monday, 11, 60 + 30), London));
    }

    [Fact]
    public void A_lesson_on_another_day_is_not_held()
    {
        Assert.True(AvailableTime.Holds([Morning], Lesson(Monday, 9, 180), London));
        Assert.False(AvailableTime.Holds([Morning], Lesson(Monday.PlusDays(1), 9, 60), London));
        Assert.False(AvailableTime.Holds([], Lesson(Monday, 9, 60), London));
    }

    [Fact]
    public void Times_keep_to_the_local_clock_when_it_changes()
    {
        var sunday = new AvailableTime(IsoDayOfWeek.Sunday, new(0, 30), new(3, 0));
        // 25 October 2026: 01:00 to 02:00 comes twice.
        Assert.Equal(Duration.FromMinutes(210), Assert.Single(AvailableTime.On([sunday], new(2026, 10, 25), London)).Duration);
        Assert.Equal(Duration.FromMinutes(90), Assert.Single(AvailableTime.On([sunday], new(2026, 3, 29), London)).Duration);
    }

    [Fact]
    public void Times_that_contradict_are_told_and_times_that_touch_are_fine()
    {
        Assert.Empty(AvailableTime.Problems([Morning, Afternoon, Morning with { Day = IsoDayOfWeek.Friday }]));
        var overlap = Assert.Single(AvailableTime.Problems([Morning, Morning with { From = new(11, 59), To = new(13, 0) }]));
        Assert.Equal((1, "From", "This overlaps 09:00 to 12:00 on Monday. Give one time for both, or change one."), (overlap.Index, overlap.Field, overlap.Sentence));
        Assert.Equal("To", Assert.Single(AvailableTime.Problems([Morning with { To = new(9, 0) }])).Field);
        Assert.Equal("Day", Assert.Single(AvailableTime.Problems([Morning with { Day = IsoDayOfWeek.None }])).Field);
    }

    private static Interval Lesson(LocalDate date, int hour, int minutes)
    {
        var start = date.At(new LocalTime(hour, 0)).InZoneStrictly(London).ToInstant();
        return new(start, start + Duration.FromMinutes(minutes));
    }
}
