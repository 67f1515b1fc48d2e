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
    public void Before_the_first_lesson_it_is_the_departure_that_is_late_and_the_buffer_absorbs_first()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 20));
        Assert.Equal(15, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(7), 20).Stops[0].LateMinutes);
        Assert.Equal(0, RunningLate.Of(Rules, Zone, diary, Monday, OneRoad, At(7), 5).Stops[0].LateMinutes);
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
        var planned = begun is not null ? Minute(begun.During.End)
            : Minute(ahead[0].During.Start) - Math.Abs(Road(ahead[0].Begins!.Value.Longitude) - place) - Rules.BufferMinutes;
        var clock = Math.Max(now, planned + minutes);
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
            while (clock < Minute(entry.During.Start))
            {
                clock++;
            }

            starts.Add((entry.Id, clock, clock - Minute(entry.During.Start)));
            clock += (int)entry.During.Duration.TotalMinutes;
            place = Road(entry.Ends!.Value.Longitude);
        }
        return starts;
    }

    private static int Road(double longitude) => (int)Math.Round(longitude * 1000);

    private static Instant Moment(int minute) => At(0) + Duration.FromMinutes(minute);

    private static int Minute(Instant moment) => (int)(moment - At(0)).TotalMinutes;
}
