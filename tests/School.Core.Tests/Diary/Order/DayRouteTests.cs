using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Core.Travel;
using Xunit;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Order;

public sealed class DayRouteTests
{
    [Fact]
    public void The_stops_come_in_order_with_legs_arrival_and_slack()
    {
        var (first, second, third) = (Lesson(9, 0, 60, begins: 10, ends: 15), Lesson(10, 30, 90, begins: 20), Lesson(14, 0, 60, begins: 12, ends: 0));

        var route = Build(DiaryWith(third, first, second));

        Assert.Equal([first, second, third], route.Stops.Select(stop => stop.Entry));
        Assert.Equal([10, 5, 8], route.Stops.Select(stop => stop.Leg.Minutes));
        Assert.Equal([At(8, 55), At(10, 5), At(12, 8)], route.Stops.Select(stop => stop.Arrives));
        Assert.Equal([5, 25, 112], route.Stops.Select(stop => stop.SlackMinutes));
        Assert.Equal(At(8, 45), route.LatestDeparture);
        Assert.Equal((Leg.None, At(15)), (route.LegHome, route.HomeAt));
    }

    // Seven o'clock 10 minutes, eight o'clock 14, nine o'clock 11, later 40: the drive takes what its own hour takes.
    [Theory]
    [InlineData(9, 0, 8, 41, 14, 5)] // not the 11 minutes of nine o'clock
    [InlineData(9, 16, 9, 0, 11, 5)] // at nine sharp nine o'clock's speed is in time
    [InlineData(9, 15, 8, 56, 14, 5)] // a minute before it is not
    [InlineData(8, 18, 7, 59, 10, 9)] // leaving at eight is too late, and whoever leaves before is there sooner than need be
    [InlineData(10, 30, 9, 59, 11, 20)]
    public void The_first_drive_leaves_as_late_as_it_can_at_the_speed_of_its_own_hour(int hour, int minute, int leavesHour, int leavesMinute, int leg, int slack)
    {
        var diary = DiaryWith(Lesson(hour, minute, 60, begins: 10));

        var route = DayRoute.Build(new() { BufferMinutes = 5 }, Zone, diary, Monday, new RushHour());

        Assert.Equal(At(leavesHour, leavesMinute), route.LatestDeparture);
        Assert.Equal((leg, slack), (route.Stops[0].Leg.Minutes, route.Stops[0].SlackMinutes));
        Assert.Equal(At(leavesHour, leavesMinute) + Duration.FromMinutes(leg), route.Stops[0].Arrives);
        Assert.Equal(
            route.LatestDeparture, Enumerable.Range(0, 300).Select(before => At(hour, minute) - Duration.FromMinutes(before))
                .First(leaving => leaving + Duration.FromMinutes(new RushHour().Between(Place(0), Place(10), leaving.InZone(Zone).LocalDateTime).Minutes) <= At(hour, minute) - Duration.FromMinutes(5)));
    }

    [Fact]
    public void Totals_count_every_leg_and_the_way_home()
    {
        var route = Build(DiaryWith(Lesson(9, 0, 60, begins: 10, ends: 15), Lesson(10, 30, 90, begins: 20, ends: 30)));

        // Base → 10, 15 → 20, 30 → base; a mile every three minutes.
        Assert.Equal((45, 15.0, 150), (route.DrivingMinutes, Math.Round(route.Miles, 9), route.TaughtMinutes));
        Assert.Equal((30, At(12, 30)), (route.LegHome!.Value.Minutes, route.HomeAt));
    }

    [Fact]
    public void A_leg_too_long_makes_negative_slack()
    {
        var route = Build(DiaryWith(Lesson(9, 0, 60), Lesson(10, 10, 60, begins: 25)));

        Assert.Equal((At(10, 25), -15), (route.Stops[1].Arrives, route.Stops[1].SlackMinutes));
    }

    [Fact]
    public void Busy_time_delays_the_arrival_and_uses_up_slack()
    {
        var diary = DiaryWith(Lesson(9, 0, 60), Busy(10, 10, 30), Busy(11, 0, 15), Lesson(11, 30, 60, begins: 20));

        var route = Build(diary);

        // Ten minutes on the road, busy until 10:40, ten more; then free to 11:00 and from 11:15.
        Assert.Equal((At(10, 50), 25), (route.Stops[1].Arrives, route.Stops[1].SlackMinutes));
        Assert.Equal(2, route.Stops.Count);
    }

    [Fact]
    public void A_stop_in_time_off_is_told_as_that_and_its_neighbours_are_not_late_for_it()
    {
        var diary = DiaryWith(Lesson(9, 0, 60), Lesson(10, 30, 60, begins: 10), Lesson(12, 0, 60, begins: 20)) with
        {
            TimeOff = [new(At(10, 0), At(11, 30))],
        };

        var route = Build(diary);

        Assert.Equal([false, true, false], route.Stops.Select(stop => stop.InTimeOff));
        Assert.Equal((At(10, 10), 20), (route.Stops[1].Arrives, route.Stops[1].SlackMinutes));
        Assert.All(route.Stops, stop => Assert.True(stop.SlackMinutes >= 0));
    }

    [Fact]
    public void Gaps_say_how_long_they_are_idle_and_whether_they_hold_a_rest()
    {
        var route = Build(DiaryWith(Lesson(9, 0, 60), Lesson(10, 20, 60, begins: 6), Lesson(12, 0, 60, begins: 6)));

        Assert.Equal([new(new(At(10), At(10, 20)), 14, false), new(new(At(11, 20), At(12)), 40, true)], route.Gaps);
    }

    [Fact]
    public void An_empty_day_has_nowhere_to_go()
    {
        var route = Build(DiaryWith(Busy(9, 0, 60)));

        Assert.Empty(route.Stops);
        Assert.Empty(route.Gaps);
        Assert.Equal((null, null, null, 0, 0.0, 0), (route.LatestDeparture, route.LegHome, route.HomeAt, route.DrivingMinutes, route.Miles, route.TaughtMinutes));
    }

    [Fact]
    public void Other_dates_are_other_routes()
    {
        var tomorrow = Lesson(9, 0, 60) with { During = new Interval(At(Monday.PlusDays(1), 9), At(Monday.PlusDays(1), 10)) };

        Assert.Equal([tomorrow], DayRoute.Build(Larkfield.Rules, Zone, DiaryWith(Lesson(9, 0, 60), tomorrow), Monday.PlusDays(1), OneRoad)
            .Stops.Select(stop => stop.Entry));
    }

    [Fact]
    public void Slack_is_the_same_room_that_the_audit_sees()
    {
        var travel = new StraightLineTravel(new());
        var (roomy, tight) = (0, 0);
        for (var seed = 0; seed < 400; seed++)
        {
            var (picture, wish) = RandomDiary.Make(seed);
            picture = picture with { Now = Instant.FromUtc(2025, 1, 1, 0, 0), Rules = picture.Rules with { FirstLegIsWork = false, LastLegIsWork = false } };
            foreach (var diary in picture.Instructors)
            {
                var told = DiaryAudit.Find(picture, diary, travel).ToDictionary(told => told.LessonId, told => told.Refusal.Rule);
                foreach (var stop in DayRoute.Build(picture.Rules, picture.Zone, diary, wish.From, travel).Stops.Skip(1))
                {
                    var late = told.GetValueOrDefault(stop.Entry.Id, SlotRule.InThePast) == SlotRule.NoTimeToGetThere;
                    if (late || (stop.Entry.Kind == EntryKind.Lesson && !told.ContainsKey(stop.Entry.Id)))
                    {
                        Assert.Equal(late, stop.SlackMinutes < picture.Rules.BufferMinutes);
                    }

                    tight += late ? 1 : 0;
                    roomy += late ? 0 : 1;
                }
            }
        }
        Assert.True(roomy > 50 && tight > 20, $"{roomy} with room, {tight} without");
    }

    private sealed class RushHour : ITravelTimes
    {
        public Leg Between(Coordinates origin, Coordinates destination, LocalDateTime leaving) =>
            new(origin == destination ? 0 : leaving.Hour switch { <= 7 => 10, 8 => 14, 9 => 11, _ => 40 }, 4);
    }

    private static DayRoute Build(InstructorDiary diary) => DayRoute.Build(Larkfield.Rules, Zone, diary, Monday, OneRoad);
}
