using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Day;

/// <summary>Days as lanes under one scale, for the office's board and the instructor's week.</summary>
internal static class BoardView
{
    public static TimeDrawing Draw(string label, string laneWord, IReadOnlyList<DaySheet> days, Func<DaySheet, string> name, Func<DaySheet, string> href, bool withCars) =>
        days.Count == 0 ? throw new ArgumentException("A picture has lanes.", nameof(days)) : TimeDrawing.Of(
            new(label, laneWord, days[0].Context.School.Zone, days[0].Context.Now, [.. days.Select(day => Lane(day, name(day), href(day), withCars))])
            {
                TwelveHour = days[0].Context.School.TwelveHourClock,
            });

    public static string Summary(DaySheet day)
    {
        var count = day.Lessons.Count;
        var tests = day.Tests.Count == 0 ? "" : Words.Count(day.Tests.Count, "test");
        var missed = day.Missed == 0 ? "" : $", {day.Missed} missed";
        return count > 0 ? $"{Words.Count(count, "lesson")}, {ScreenWords.Length(day.BookedMinutes)}{missed}{(tests.Length > 0 ? $", {tests}" : "")}"
            : tests.Length > 0 ? tests
            : day.Working.Count == 0 ? "not working" : "no lessons";
    }

    /// <summary>The shape of a lesson and the word beside it.</summary>
    public static (PlateState State, string Word) State(Lesson lesson, Instant now) => lesson.State switch
    {
        LessonState.Taught => (PlateState.Taught, "taught"),
        LessonState.Missed => (PlateState.Missed, "missed"),
        LessonState.Cancelled => (PlateState.Missed, "cancelled"),
        _ when lesson.During.Contains(now) => (PlateState.Now, "now"),
        _ when lesson.EndsAt <= now => (PlateState.Open, "not recorded"),
        _ => (PlateState.Booked, "booked"),
    };

    private static TimeLane Lane(DaySheet day, string name, string href, bool withCars)
    {
        var stops = day.Route.Stops.Select((stop, n) => (stop, n)).ToDictionary(one => one.stop.Entry.Id);
        var told = ToldDrives.Of(day);
        var plates = day.Lessons.Select(lesson => (lesson.Id, Plate: Plate(day, lesson, stops.TryGetValue(lesson.Id, out var at) ? at.stop : null, told, at.n)))
            .Concat(day.Tests.Select(test => (test.Id, Plate: Plate(day, test)))).ToDictionary(one => one.Id, one => one.Plate);
        string[] cars = withCars ? [.. Cars(day)] : [];
        return new(name, href, day.Date)
        {
            Facts = [.. cars, Summary(day)],
            Working = day.Working,
            Plates = [.. plates.Values],
            Drives = [.. Drives(day, told, plates)],
            Away = [.. day.TimeOff.Select(off => new TimeAway(new(off.StartsAt, off.EndsAt), off.Reason, $"/diary/hours?instructorId={day.Instructor.Id}"))],
            Openings =
            [
                .. from gap in day.Free
                   let lengths = day.Context.Rules.LessonMinutes.Order().Where(minutes => LessonPlan.Of(minutes, day.Context.Rules).Elapsed <= gap.Duration.TotalMinutes).ToList()
                   where lengths.Count > 0
                   select new TimeOpening(gap, lengths, $"/diary/book?with={day.Instructor.Id}&after={StartText.Of(gap.Start)}"),
            ],
        };
    }

    private static TimePlate Plate(DaySheet day, Lesson lesson, RouteStop? stop, ToldDrives told, int n)
    {
        var context = day.Context;
        var (state, word) = State(lesson, context.Now);
        var ahead = lesson.State is LessonState.Booked && lesson.EndsAt > context.Now;
        var late = context.Late.TryGetValue(lesson.Id, out var note) && note.AppliesTo(lesson) ? note.Minutes : 0;
        var fault = !ahead || stop is null ? state is PlateState.Open or PlateState.Missed ? word : null
            : stop.InTimeOff ? "in time off"
            : stop.SlackMinutes < 0 && lesson.StartsAt > context.Now && told.To(n) ? $"drive {ScreenWords.Length(-stop.SlackMinutes)} late"
            : late > 0 ? $"told {ScreenWords.Length(late)} late"
            : null;
        return new(
            lesson.During, ahead && stop is not null && (stop.InTimeOff || fault?.StartsWith("drive", StringComparison.Ordinal) == true) ? PlateState.Cannot : state, word,
            context.Pupils[lesson.PupilId].Name, $"/diary/lessons/{lesson.Id}")
        {
            Where = lesson.PickUp.Label,
            Fault = fault,
        };
    }

    private static TimePlate Plate(DaySheet day, TestDay test) => new(
        test.Blocked, PlateState.Test, $"test at {day.Context.School.Time(test.StartsAt)}", day.Context.Pupils[test.PupilId].Name, TestDayWords.Address(test.Id))
    {
        Where = test.Centre.Label,
        Flag = test.StartsAt,
    };

    // Drawn as late as it can be driven: up to the minutes kept beside a stop. One that comes too late reaches into the stop.
    private static IEnumerable<TimeDrive> Drives(DaySheet day, ToldDrives told, Dictionary<Guid, TimePlate> plates)
    {
        for (var n = 0; n < day.Route.Stops.Count; n++)
        {
            var stop = day.Route.Stops[n];
            if (stop.Leg.Minutes == 0 || !told.To(n))
            {
                continue;
            }

            var start = stop.Entry.During.Start;
            var kept = Duration.FromMinutes(Math.Clamp(stop.SlackMinutes, 0, day.Context.Rules.BufferMinutes));
            var late = Duration.FromMinutes(Math.Clamp(-stop.SlackMinutes, 0, stop.Leg.Minutes));
            var driven = Duration.FromMinutes(stop.Leg.Minutes) - late;
            yield return new(new(start - kept - driven, start - kept), stop.Leg.Minutes, late) { Leads = plates.GetValueOrDefault(stop.Entry.Id) };
        }

        if (day.Route.LegHome is { Minutes: > 0 } home && told.Home)
        {
            var end = day.Route.Stops[^1].Entry.During.End;
            yield return new(new(end, end + Duration.FromMinutes(home.Minutes)), home.Minutes);
        }
    }

    private static IEnumerable<string> Cars(DaySheet day)
    {
        var cars = day.Route.Stops.Select(stop => stop.Entry.CarId).OfType<Guid>().Concat(day.Held).Distinct().Where(day.Context.Cars.ContainsKey)
            .Select(id => day.Context.Cars[id]).ToList();
        return cars.Count switch
        {
            0 => [],
            1 => [CarWords.Of(cars[0])],
            _ => [string.Join(", ", cars.Select(car => car.Label))],
        };
    }
}
