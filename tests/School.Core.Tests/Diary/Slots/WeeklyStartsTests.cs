using CsCheck;
using NodaTime;
using School.Core.Diary.Slots;

namespace School.Core.Tests.Diary.Slots;

/// <summary>Source: the IANA time zone rules for Europe/London (forward 29 March 2026 at 01:00, back 25 October 2026 at 02:00).</summary>
public sealed class WeeklyStartsTests
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];

    [Fact]
    public void The_local_time_stays_when_the_clocks_change()
    {
        var starts = WeeklyStarts.Of(At(2026, 3, 19, 10), 3, London);
        Assert.Equal([At(2026, 3, 19, 10), At(2026, 3, 26, 10), At(2026, 4, 2, 10)], starts.Select(s => s.Start!.Value));
        Assert.Equal(Duration.FromHours((24 * 7) - 1), starts[2].Start - starts[1].Start);
    }

    [Fact]
    public void A_time_that_the_clocks_skip_has_no_moment_and_the_weeks_go_on()
    {
        var starts = WeeklyStarts.Of(At(2026, 3, 22, 1, 30), 3, London);
        Assert.Equal(new LocalDate(2026, 3, 29), starts[1].Date);
        Assert.Null(starts[1].Start);
        Assert.Equal(At(2026, 4, 5, 1, 30), starts[2].Start);
    }

    [Fact]
    public void Of_a_time_that_comes_twice_the_first_is_taken_unless_it_is_the_one_asked_for()
    {
        var twice = WeeklyStarts.Of(At(2026, 10, 18, 1, 30), 2, London)[1].Start!.Value;
        Assert.Equal(Offset.FromHours(1), twice.InZone(London).Offset);
        var second = twice + Duration.FromHours(1);
        Assert.Equal(second, WeeklyStarts.Of(second, 2, London)[0].Start);
    }

    [Fact]
    public void All_that_follow_move_by_as_many_days_to_the_same_local_time()
    {
        var (from, to) = (At(2026, 3, 19, 10), At(2026, 3, 20, 14, 30));
        Assert.Equal(At(2026, 4, 3, 14, 30), WeeklyStarts.Shifted(At(2026, 4, 2, 10), from, to, London).Start);
        Assert.Equal(to, WeeklyStarts.Shifted(from, from, to, London).Start);
        Assert.Null(WeeklyStarts.Shifted(At(2026, 3, 26, 10), from, At(2026, 3, 22, 1, 30), London).Start);
    }

    [Fact]
    public void Every_start_has_the_weekday_and_local_time_of_the_first() => Gen.Select(
        Gen.Int[0, 5_000_000], Gen.Int[1, 40]).Sample((minutes, weeks) =>
        {
            var first = Instant.FromUtc(2020, 1, 1, 0, 0) + Duration.FromMinutes(minutes);
            var local = first.InZone(London).LocalDateTime;
            var starts = WeeklyStarts.Of(first, weeks, London);
            return starts.Count == weeks && starts.Select((s, week) => (s, week)).All(p =>
                p.s.Date == local.Date.PlusWeeks(p.week)
                && (p.s.Start is { } start ? start.InZone(London).LocalDateTime == p.s.Date + local.TimeOfDay : London.MapLocal(p.s.Date + local.TimeOfDay).Count == 0));
        });

    private static Instant At(int year, int month, int day, int hour, int minute = 0) =>
        new LocalDateTime(year, month, day, hour, minute).InZone(London, mapping => mapping.First()).ToInstant();
}
