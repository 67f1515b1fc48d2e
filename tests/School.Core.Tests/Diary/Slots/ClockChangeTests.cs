using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using Xunit;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Slots;

/// <summary>Both clock changes of 2026 in Europe/London. Source: IANA time zone database, file europe, rule EU: last Sunday
/// of March and of October at 01:00 UTC, so 29 March (01:00 GMT becomes 02:00 BST) and 25 October (02:00 BST becomes
/// 01:00 GMT).</summary>
public sealed class ClockChangeTests
{
    private static readonly LocalDate Spring = new(2026, 3, 29);
    private static readonly LocalDate Autumn = new(2026, 10, 25);

    [Fact]
    public void Starts_in_the_skipped_hour_do_not_exist()
    {
        var starts = Starts(Spring, new LocalTime(0, 30), new LocalTime(4, 0));

        // 60 minutes each; 00:30 GMT ends at 02:30 BST. Nothing starts between 01:00 and 02:00.
        Assert.Equal(["00:30+00", "00:45+00", "02:00+01", "02:15+01", "02:30+01", "02:45+01", "03:00+01"], starts);
    }

    [Fact]
    public void Starts_in_the_repeated_hour_exist_twice()
    {
        var starts = Starts(Autumn, new LocalTime(0, 30), new LocalTime(2, 30));

        // Three hours of work from 00:30 BST to 02:30 GMT.
        Assert.Equal(["00:30+01", "00:45+01", "01:00+01", "01:15+01", "01:30+01", "01:45+01", "01:00+00", "01:15+00", "01:30+00"], starts);
    }

    [Fact]
    public void Lengths_are_elapsed_minutes_across_a_change()
    {
        var start = new LocalDateTime(2026, 3, 29, 0, 30).InZoneStrictly(Zone).ToInstant();

        var offer = SlotSearch.Check(PictureOf(Spring, LocalTime.Midnight, new LocalTime(4, 0)), WishOn(Spring), InstructorId, start, OneRoad).Offer!;

        Assert.Equal(new LocalDateTime(2026, 3, 29, 2, 30), offer.End.InZone(Zone).LocalDateTime);
    }

    [Fact]
    public void Working_hours_keep_their_local_time_on_both_sides_of_a_change()
    {
        foreach (var change in new[] { Spring, Autumn })
        {
            foreach (var date in new[] { change.PlusDays(-1), change, change.PlusDays(1) })
            {
                var starts = Starts(date, new LocalTime(9, 0), new LocalTime(10, 15));
                Assert.Equal(["09:00", "09:15"], starts.Select(start => start[..5]));
            }
        }
    }

    [Fact]
    public void Hours_that_begin_in_the_skipped_hour_begin_when_it_is_over() =>
        Assert.Equal(["02:00+01"], Starts(Spring, new LocalTime(1, 30), new LocalTime(3, 0)));

    [Fact]
    public void Hours_that_begin_in_the_repeated_hour_begin_in_the_first() =>
        Assert.Equal(["01:30+01", "01:45+01", "01:00+00"], Starts(Autumn, new LocalTime(1, 30), new LocalTime(2, 0)));

    [Fact]
    public void Hours_that_end_in_the_repeated_hour_end_in_the_second() =>
        Assert.Equal(["00:30+01", "00:45+01", "01:00+01", "01:15+01", "01:30+01"], Starts(Autumn, new LocalTime(0, 30), new LocalTime(1, 30)));

    [Theory]
    [InlineData(29, 3, 23)]
    [InlineData(25, 10, 25)]
    public void Hours_around_the_clock_last_as_long_as_the_day(int day, int month, int hours)
    {
        var starts = Starts(new LocalDate(2026, month, day), LocalTime.Midnight, LocalTime.Midnight);

        Assert.Equal((hours - 1) * 4 + 1, starts.Count);
    }

    private static List<string> Starts(LocalDate date, LocalTime from, LocalTime to) =>
        [.. SlotSearch.Find(PictureOf(date, from, to), WishOn(date), OneRoad, int.MaxValue).Offers
            .OrderBy(offer => offer.Start)
            .Select(offer => offer.Start.InZone(Zone).ToString("HH:mmo<+HH>", null))];

    private static DiaryPicture PictureOf(LocalDate date, LocalTime from, LocalTime to) =>
        Picture(DiaryWith() with { Hours = [new(date.DayOfWeek, from, to, date, date)] }) with { Now = At(date.PlusDays(-3), 12) };

    private static LessonWish WishOn(LocalDate date) => Wish() with { From = date, To = date };
}
