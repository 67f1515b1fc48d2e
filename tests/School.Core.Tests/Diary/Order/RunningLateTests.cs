using System.Globalization;
using CsCheck;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Order;

public sealed class RunningLateTests
{
    [Fact]
    public void Slack_absorbs_what_is_late_and_the_rest_of_the_day_is_on_time()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 0), Lesson(10, 15, 60, begins: 10), Lesson(11, 45, 60, begins: 10), Lesson(15, 0, 60, begins: 20));
        var late = RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(9, 30), 30);

        // Free at 10:30 instead of 10:00; ten minutes' drive; then half an hour to spare less a quarter of an hour late.
        Assert.Equal([25, 0, 0], late.Stops.Select(stop => stop.LateMinutes));
        Assert.Equal([5, 25, 0], late.Stops.Select(stop => stop.AbsorbedMinutes));
        Assert.Equal((At(10, 40), At(11, 40)), (late.Stops[0].Starts, late.Stops[0].Ends));
        Assert.Equal(At(16, 20), late.HomeAt);
    }

    [Fact]
    public void Before_the_first_lesson_nothing_is_on_so_it_is_the_lesson_that_is_late()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 20));
        Assert.Equal(20, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(7), 20).Stops[0].LateMinutes);
        Assert.Equal(5, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(7), 5).Stops[0].LateMinutes);
        Assert.Equal(7, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(8, 47), 5).Stops[0].LateMinutes);
    }

    /// <summary>One lesson from 9:00 to 10:00 at base, one from 14:00 to 15:00 nine minutes away, with a buffer of five; who presses what, and when.</summary>
    [Theory]
    [InlineData("in the gap, two minutes after the time to leave", "13:48", 10, "14:10")]
    [InlineData("in the gap, a little more", "13:48", 20, "14:20")]
    [InlineData("in the gap, far more than the gap holds", "13:48", 45, "14:45")]
    [InlineData("long before the next", "10:30", 10, "14:10")]
    [InlineData("the drive from where the last one ended takes longer than what is pressed", "13:58", 5, "14:07")]
    [InlineData("while the first is on: five hours take it up", "09:30", 45, "14:00")]
    [InlineData("in the moment in which the first is over", "10:00", 10, "14:10")]
    [InlineData("in the last moment in which the first is on", "09:59", 10, "14:00")]
    public void In_a_gap_it_is_the_next_start_that_is_late(string when, string now, int minutes, string starts)
    {
        var diary = DiaryWith(Lesson(9, 0, 60), Lesson(14, 0, 60, begins: 9));
        Assert.True(Clock(starts) == RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, Clock(now), minutes).Stops[0].Starts, when);
    }

    [Fact]
    public void A_lesson_whose_time_has_come_is_on_unless_it_is_said_not_to_have_begun()
    {
        var (first, second) = (Lesson(14, 0, 60, begins: 9), Lesson(15, 15, 60, begins: 18));
        var diary = DiaryWith(first, second);
        var on = RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(14, 5), 10);
        var notBegun = RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(14, 5), 10, known: LateFacts.None with { NotBegun = first.Id });

        Assert.Equal((first.Id, 1), (on.On!.Id, on.Stops.Count));
        Assert.Null(notBegun.On);
        Assert.Equal([(first.Id, At(14, 10)), (second.Id, At(15, 19))], notBegun.Stops.Select(stop => (stop.Entry.Id, stop.Starts)));
        // Whatever was begun, what comes after is the same.
        Assert.Equal(on.Stops[0], notBegun.Stops[1]);
        // Nobody begins in the past.
        Assert.Equal(At(14, 25), RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(14, 25), 10, known: LateFacts.None with { NotBegun = first.Id }).Stops[0].Starts);
    }

    [Fact]
    public void A_lesson_that_was_told_late_begins_and_ends_so_much_later()
    {
        var (first, second) = (Lesson(14, 0, 60, begins: 9), Lesson(15, 15, 60, begins: 9));
        var diary = DiaryWith(first, second);
        var told = LateFacts.None with { Told = new Dictionary<Guid, int> { [first.Id] = 20 } };

        // At 14:10 it has not begun, so it is the one that is late; at 15:10 it is still on, so it ends half an hour after its time.
        Assert.Equal([At(14, 30), At(15, 30)], RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(14, 10), 30, known: told).Stops.Select(stop => stop.Starts));
        Assert.Equal(At(15, 30), RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(15, 10), 30, known: told).Stops[0].Starts);
        Assert.Equal(At(15, 45), RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(15, 10), 30).Stops[0].Starts);
    }

    [Fact]
    public void A_lesson_that_is_recorded_is_over_whatever_the_clock_says()
    {
        var first = Lesson(9, 0, 60);
        var diary = DiaryWith(first, Lesson(10, 15, 60));
        var over = LateFacts.None with { Over = new HashSet<Guid> { first.Id } };
        Assert.Equal(At(10, 15), RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(9, 20), 10).Stops[0].Starts);
        Assert.Equal(At(10, 25), RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(9, 20), 10, known: over).Stops[0].Starts);
    }

    [Fact]
    public void Within_its_own_break_a_lesson_is_on_and_keeps_its_break()
    {
        var first = Lesson(9, 0, 135) with { Breaks = [new(120, 15)] };
        var next = Lesson(11, 20, 150) with { Breaks = [new(120, 30)] };
        var late = RunningLate.Of(Rules, Zone, DiaryWith(first, next), Monday, OneRoad, At(11, 5), 10);
        Assert.Equal(first.Id, late.On!.Id);
        Assert.Equal((At(11, 25), At(13, 55)), (late.Stops[0].Starts, late.Stops[0].Ends));
    }

    [Fact]
    public void Over_midnight_a_lesson_of_yesterday_is_on_and_the_day_runs_into_tomorrow()
    {
        var night = Lesson(23, 30, 60) with { During = new(At(Monday.PlusDays(-1), 23, 30), At(0, 30)) };
        var late = RunningLate.Of(Rules, Zone, DiaryWith(night, Lesson(0, 45, 60)), Monday, OneRoad, At(0, 10), 30);
        Assert.Equal((night.Id, At(1, 0)), (late.On!.Id, late.Stops[0].Starts));
        var last = RunningLate.Of(Rules, Zone, DiaryWith(Lesson(23, 30, 60)), Monday, OneRoad, At(23, 20), 45);
        Assert.Equal((At(Monday.PlusDays(1), 0, 15), At(Monday.PlusDays(1), 1, 15)), (last.Stops[0].Starts, last.Stops[0].Ends));
    }

    /// <summary>British Summer Time in 2026 begins on 29 March at 01:00 GMT and ends on 25 October at 02:00 (The Summer Time Act 1972, section 1).</summary>
    [Theory]
    [InlineData(2026, 3, 29, 45, "01:30+00 is 02:30")]
    [InlineData(2026, 10, 25, 90, "twice 01:00")]
    public void When_the_clock_changes_minutes_are_minutes(int year, int month, int day, int minutes, string when)
    {
        var date = new LocalDate(year, month, day);
        var start = date.At(new(0, 45)).InZoneStrictly(Zone).ToInstant();
        var entry = Lesson(0, 45, 60) with { During = new(start, start + Duration.FromMinutes(60)) };
        var late = RunningLate.Of(Rules, Zone, DiaryWith(entry), date, OneRoad, start - Duration.FromMinutes(10), minutes);
        Assert.True(start + Duration.FromMinutes(minutes) == late.Stops[0].Starts && late.Stops[0].LateMinutes == minutes, when);
    }

    [Fact]
    public void The_minutes_that_are_due_are_those_of_leaving_now_once_the_time_to_leave_is_past()
    {
        var next = Lesson(14, 0, 60, begins: 9);
        var diary = DiaryWith(Lesson(9, 0, 60), next);
        int? Due(string now, LateFacts? known = null, UnknownPlaces? unknown = null) =>
            RunningLate.Overdue(Rules, Zone, diary, Monday, OneRoad, Clock(now), unknown, known)?.LateMinutes;

        Assert.Null(Due("13:46"));
        Assert.Equal(0, Due("13:47"));
        Assert.Equal(0, Due("13:51"));
        Assert.Equal(4, Due("13:55"));
        // Who left at 13:50 is there at 13:59; a drive from before the last lesson says nothing.
        Assert.Equal(0, Due("13:55", LateFacts.None with { LeftAt = At(13, 50) }));
        Assert.Equal(4, Due("13:55", LateFacts.None with { LeftAt = At(8, 50) }));
        Assert.Null(Due("14:00"));
        Assert.Null(Due("09:59"));
        Assert.Null(Due("13:55", unknown: new(new HashSet<Guid> { next.Id }, new HashSet<Guid>())));
        Assert.Equal(4, RunningLate.Overdue(Rules, Zone, DiaryWith(next), Monday, OneRoad, At(13, 55))?.LateMinutes);
        Assert.Null(RunningLate.Overdue(Rules, Zone, DiaryWith(), Monday, OneRoad, At(13, 55)));
    }

    [Fact]
    public void Who_has_arrived_is_not_late_for_what_they_arrived_at()
    {
        var diary = DiaryWith(Lesson(9, 0, 60), Lesson(14, 0, 60, begins: 9));
        LateStop? Due(Instant left, Instant? arrived, LateFacts? known = null) => RunningLate.Overdue(
            Rules, Zone, diary, Monday, OneRoad, At(13, 58), known: (known ?? LateFacts.None) with { LeftAt = left, ArrivedAt = arrived });

        Assert.Null(Due(At(13, 40), At(13, 50)));
        Assert.Null(Due(At(13, 54), At(13, 58)));
        // A drive to the lesson before says nothing of this one, nor does one that goes on.
        Assert.Equal(7, Due(At(8, 40), At(8, 50))?.LateMinutes);
        Assert.Equal(3, Due(At(13, 54), null)?.LateMinutes);
        var told = LateFacts.None with { Told = new Dictionary<Guid, int> { [diary.Entries[0].Id] = 20 } };
        Assert.Equal(7, Due(At(9, 10), At(9, 19), told)?.LateMinutes);
    }

    [Fact]
    public void What_lies_in_time_off_or_would_be_hours_late_is_not_due()
    {
        var next = DiaryWith(Lesson(9, 0, 60), Lesson(14, 0, 60, begins: 9));
        Assert.Equal(7, RunningLate.Overdue(Rules, Zone, next, Monday, OneRoad, At(13, 58))?.LateMinutes);
        Assert.Null(RunningLate.Overdue(Rules, Zone, next with { TimeOff = [During(13, 0, 260)] }, Monday, OneRoad, At(13, 58)));
        Assert.Null(RunningLate.Overdue(Rules, Zone, next with { TimeOff = [During(14, 30, 60)] }, Monday, OneRoad, At(13, 58)));
        // Off until the lesson's time: it can be kept, only later.
        Assert.Equal(9, RunningLate.Overdue(Rules, Zone, next with { TimeOff = [During(13, 0, 60)] }, Monday, OneRoad, At(13, 58))?.LateMinutes);

        var far = DiaryWith(Lesson(9, 0, 60), Lesson(14, 0, 60, begins: RunningLate.MostMinutes + 30));
        Assert.Equal(RunningLate.MostMinutes, RunningLate.Overdue(Rules, Zone, far, Monday, OneRoad, At(13, 30))?.LateMinutes);
        Assert.Null(RunningLate.Overdue(Rules, Zone, far, Monday, OneRoad, At(13, 31)));
    }

    [Fact]
    public void Nobody_arrives_earlier_than_the_drive_from_now_allows()
    {
        var diary = DiaryWith(Lesson(9, 0, 60), Lesson(11, 0, 60, begins: 30));
        Assert.Equal(25, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(10, 55), 10).Stops[0].LateMinutes);
    }

    [Fact]
    public void Time_off_is_not_driven_in()
    {
        var diary = DiaryWith(Lesson(9, 0, 60), Lesson(11, 0, 60, begins: 15)) with { TimeOff = [During(10, 0, 30)] };
        Assert.Equal(0, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(9, 30), 30).Stops[0].LateMinutes);
        Assert.Equal(5, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(9, 30), 50).Stops[0].LateMinutes);
    }

    [Fact]
    public void When_the_last_lesson_has_begun_nothing_is_ahead()
    {
        var late = RunningLate.Of(Rules, Zone, DiaryWith(Lesson(9, 0, 60)), Monday, OneRoad, At(9, 0), 30);
        Assert.Empty(late.Stops);
        Assert.Null(late.HomeAt);
    }

    [Fact]
    public void Over_a_drive_that_is_not_known_the_day_stays_as_late_as_it_was()
    {
        var (first, open, last) = (Lesson(9, 0, 60, begins: 0), Lesson(10, 15, 60, begins: 10), Lesson(15, 0, 60, begins: 20));
        var diary = DiaryWith(first, open, last);
        var unknown = new UnknownPlaces(new HashSet<Guid> { open.Id }, new HashSet<Guid> { open.Id });
        var late = RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(9, 30), 30, unknown);

        Assert.Equal([(30, false), (30, false)], late.Stops.Select(stop => (stop.LateMinutes, stop.DriveIsKnown)));
        Assert.Equal(At(10, 45), late.Stops[0].Starts);
        Assert.NotNull(late.HomeAt);
        Assert.Null(RunningLate.Of(Rules, Zone, DiaryWith(first, open), Monday, OneRoad, At(9, 30), 30, unknown).HomeAt);
        // The present moment holds all the same.
        Assert.Equal(At(11, 0), RunningLate.Of(Rules, Zone, DiaryWith(open), Monday, OneRoad, At(10, 0), 45, unknown).Stops[0].Starts);
    }

    /// <summary>A day on which lessons are cancelled and moved and somebody runs late again and again, beside a simulation that
    /// moves the instructor on minute by minute.</summary>
    [Fact]
    public void Over_random_histories_every_start_is_that_of_a_simulation_minute_by_minute()
    {
        var (told, wereLate) = (0, 0);
        Gen.Int[0, int.MaxValue - 1].Sample(seed =>
        {
            var random = new Random(seed);
            var entries = RandomDay(random);
            var now = 7 * 60;
            for (var turn = 0; turn < 6 && now < 20 * 60; turn++)
            {
                var (minutes, diary) = (random.Next(0, 61), DiaryWith([.. entries.OrderBy(_ => random.Next())]));
                var late = RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, Moment(now), minutes);
                Assert.Equal(Simulate(entries, now, minutes), late.Stops.Select(stop => (stop.Entry.Id, Minute(stop.Starts), stop.LateMinutes)));
                Assert.All(late.Stops, stop => Assert.Equal(stop.Entry.During.Duration, stop.Ends - stop.Starts));
                Interlocked.Add(ref told, late.Stops.Count);
                Interlocked.Add(ref wereLate, late.Stops.Count(stop => stop.LateMinutes > 0));
                now += random.Next(0, 150);
                Change(entries, random, now);
            }
        }, iter: 1000);
        Assert.True(wereLate > 500 && told - wereLate > 500, $"{wereLate} of {told} were late.");
    }

    private static List<DiaryEntry> RandomDay(Random random)
    {
        var (entries, at) = (new List<DiaryEntry>(), 8 * 60 + random.Next(60));
        for (var i = random.Next(1, 7); i > 0; i--)
        {
            at += random.Next(0, 50);
            if (random.Next(4) == 0)
            {
                var busy = random.Next(5, 60);
                entries.Add(Busy(at / 60, at % 60, busy));
                at += busy + random.Next(0, 20);
            }
            var length = random.Next(30, 121);
            entries.Add(Lesson(at / 60, at % 60, length, random.Next(0, 31), random.Next(0, 31)));
            at += length;
        }
        return entries;
    }

    private static void Change(List<DiaryEntry> entries, Random random, int now)
    {
        var ahead = entries.FindAll(entry => entry.IsPlaced && Minute(entry.During.Start) > now);
        if (ahead.Count == 0 || random.Next(2) == 0)
        {
            return;
        }

        var one = ahead[random.Next(ahead.Count)];
        entries.Remove(one);
        if (random.Next(2) == 0)
        {
            return;
        }

        var start = one.During.Start + Duration.FromMinutes(random.Next(0, 15));
        entries.Add(one with { During = new(start, start + one.During.Duration) });
    }

    private static List<(Guid Id, int Starts, int Late)> Simulate(List<DiaryEntry> entries, int now, int minutes)
    {
        var placed = entries.FindAll(entry => entry.IsPlaced).OrderBy(entry => entry.During.Start).ThenBy(entry => entry.During.End).ThenBy(entry => entry.Id).ToList();
        var blocks = entries.FindAll(entry => !entry.IsPlaced);
        var begun = placed.LastOrDefault(entry => Minute(entry.During.Start) <= now);
        var ahead = placed.FindAll(entry => Minute(entry.During.Start) > now);
        if (ahead.Count == 0)
        {
            return [];
        }

        var place = begun is null ? 0 : Road(begun.Ends!.Value.Longitude);
        var isOn = begun is not null && now < Minute(begun.During.End);
        var clock = isOn ? Math.Max(now, Minute(begun!.During.End) + minutes) : now;
        var starts = new List<(Guid, int, int)>();
        foreach (var entry in ahead)
        {
            while (blocks.Exists(block => Minute(block.During.Start) < clock && clock < Minute(block.During.End)))
            {
                clock++;
            }

            for (var to = Road(entry.Begins!.Value.Longitude); place != to; clock++)
            {
                if (!blocks.Exists(block => Minute(block.During.Start) <= clock && clock < Minute(block.During.End)))
                {
                    place += Math.Sign(to - place);
                }
            }
            var begins = Minute(entry.During.Start) + (starts.Count == 0 && !isOn ? minutes : 0);
            while (clock < begins)
            {
                clock++;
            }

            starts.Add((entry.Id, clock, clock - Minute(entry.During.Start)));
            clock += (int)entry.During.Duration.TotalMinutes;
            place = Road(entry.Ends!.Value.Longitude);
        }
        return starts;
    }

    private static Instant Clock(string time) => Larkfield.At(int.Parse(time[..2], CultureInfo.InvariantCulture), int.Parse(time[3..], CultureInfo.InvariantCulture));

    private static int Road(double longitude) => (int)Math.Round(longitude * 1000);

    private static Instant Moment(int minute) => At(0) + Duration.FromMinutes(minute);

    private static int Minute(Instant moment) => (int)(moment - At(0)).TotalMinutes;
}
