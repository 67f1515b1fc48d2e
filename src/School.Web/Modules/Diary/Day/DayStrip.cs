using System.Globalization;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Strip;

namespace School.Web.Modules.Diary.Day;

/// <summary>A day drawn as a road: home, drives, lessons, rests, free time and time off in the order in which they come.</summary>
internal sealed class DayStrip(DaySheet day, PupilNotes notes)
{
    private const int LongestRest = 40;

    private readonly DiaryContext context = day.Context;
    private readonly Dictionary<Guid, Lesson> lessons = day.Lessons.ToDictionary(l => l.Id);
    private readonly ToldDrives told = ToldDrives.Of(day);
    private readonly Dictionary<Guid, TestDay> tests = day.Tests.ToDictionary(t => t.Id);
    private readonly DayStops stops = new(day, notes);
    private int past;

    /// <summary>Up to how many parts of the drawing are past: stops that are over and recorded, with the way to them. None but today, and none once nothing else is left.</summary>
    public int Past => past;

    /// <summary>Draws it all, and then says how much of it is past.</summary>
    public RoadStrip Draw()
    {
        var parts = new List<RoadPart>();
        if (day.Route.Stops.Count == 0)
        {
            parts.AddRange(Between(Instant.MinValue, Instant.MaxValue));
            return new("The day in order", parts);
        }

        var open = FirstOpen();

        parts.AddRange(Between(Instant.MinValue, day.Route.Stops[0].Entry.During.Start));
        parts.Add(told.To(0) ? new RoadHome("Leave home by", context.School.Time(day.Route.LatestDeparture!.Value)) : new RoadHome("Home"));
        for (var i = 0; i < day.Route.Stops.Count; i++)
        {
            if (i == open && i > 0)
            {
                past = parts.Count;
            }

            parts.AddRange(WayTo(i));
            parts.Add(stops.Of(day.Route.Stops[i]));
        }

        if (told.Home && day.Route.LegHome is { Minutes: > 0 } home)
        {
            parts.Add(new RoadLeg("Home", home.Minutes, Miles(home)));
        }

        parts.Add(told.Home ? new RoadHome("Home about", context.School.Time(day.Route.HomeAt!.Value)) : new RoadHome("Home"));
        parts.AddRange(Between(day.Route.Stops[^1].Entry.During.End, Instant.MaxValue));
        return new("The day in order", parts);
    }

    /// <summary>A sentence for lessons that lie in time off, and for each drive still ahead that does not fit.</summary>
    public IEnumerable<(string Heading, string Sentence)> Troubles()
    {
        var off = day.Route.Stops.Where(s => s.InTimeOff && lessons.ContainsKey(s.Entry.Id)).Select(s => lessons[s.Entry.Id])
            .Where(l => l.State is LessonState.Booked && l.EndsAt > context.Now).ToList();
        if (off.Count > 0)
        {
            var when = string.Join(", ", off.Select(l => $"{context.School.Time(l.StartsAt)} {context.Pupils[l.PupilId].Name}"));
            yield return (
                off.Count == 1 ? "A booked lesson lies in the time off." : $"{off.Count} booked lessons lie in the time off.",
                $"Move or cancel {(off.Count == 1 ? "it" : "them")}, or change the time off: {when}.");
        }

        for (var i = 1; i < day.Route.Stops.Count; i++)
        {
            var stop = day.Route.Stops[i];
            if (stop.Entry.During.Start <= context.Now || stop.SlackMinutes >= context.Rules.BufferMinutes || !told.To(i))
            {
                continue;
            }

            var has = Math.Max(0, stop.SlackMinutes + stop.Leg.Minutes);
            var from = LeftAt(day.Route.Stops[i - 1].Entry);
            var sentence = $"The drive from {from} takes {Minutes(stop.Leg.Minutes)}, and there {(has == 1 ? "is" : "are")} {has}.";
            yield return stop.SlackMinutes < 0
                ? ($"Late at {context.School.Time(stop.Entry.During.Start)}.", sentence)
                : ($"Tight at {context.School.Time(stop.Entry.During.Start)}.", $"{sentence} The school keeps {Minutes(context.Rules.BufferMinutes)} to park and say hello.");
        }
    }

    /// <summary>What an instructor looks for first: who is in the car, who is next and when to leave. Null when the day is over or not today.</summary>
    public (GlanceStop? Now, GlanceStop? Next, Instant? LeaveBy) Glance()
    {
        var now = day.Route.Stops.Where(stop => IsOpen(stop.Entry) && stop.Entry.During.Contains(context.Now)).Select(GlanceAt).LastOrDefault();
        var at = day.Route.Stops.ToList().FindIndex(stop => IsOpen(stop.Entry) && stop.Entry.During.Start > context.Now);
        if (day.Date != context.Today || at < 0)
        {
            return day.Date == context.Today ? (now, null, null) : default;
        }

        var next = day.Route.Stops[at];
        var leaveBy = next.Entry.During.Start - Duration.FromMinutes(next.Leg.Minutes + context.Rules.BufferMinutes);
        return (now, GlanceAt(next), !told.To(at) ? null : at == 0 ? leaveBy : Instant.Max(leaveBy, day.Route.Stops[at - 1].Entry.During.End));
    }

    // A lesson that is over and not recorded stays in sight: to record it is what is next.
    private int FirstOpen() => day.Date != context.Today
        ? 0
        : Math.Max(0, day.Route.Stops.ToList().FindIndex(stop => IsOpen(stop.Entry) || stop.Entry.During.End > context.Now));

    private string MetAt(DiaryEntry entry) => tests.TryGetValue(entry.Id, out var test) ? test.PickUp.Label : lessons[entry.Id].PickUp.Label;

    private string LeftAt(DiaryEntry entry) => tests.TryGetValue(entry.Id, out var test) ? test.EndsWhere.Label : lessons[entry.Id].DropOff.Label;

    private bool IsOpen(DiaryEntry entry) =>
        tests.TryGetValue(entry.Id, out var test) ? test.State is TestDayState.Booked : lessons[entry.Id].State is LessonState.Booked;

    private GlanceStop GlanceAt(RouteStop stop)
    {
        var lesson = lessons.GetValueOrDefault(stop.Entry.Id);
        var at = lesson?.PickUp ?? tests[stop.Entry.Id].PickUp;
        return new(
            context.Pupils[stop.Entry.PupilId!.Value].Name, stop.Entry.During, at.Label,
            lesson is not null && context.Late.TryGetValue(lesson.Id, out var late) && late.AppliesTo(lesson) ? late.Minutes : 0)
        {
            IsLesson = lesson is not null,
            HasAddress = context.Pupils[stop.Entry.PupilId!.Value].HasEmail,
            Actions = stops.AtTheKerb(stop.Entry),
            // What is typed into a map by hand: the address as written, else the position.
            ToCopy = at.Address.Length > 0 || at.Postcode.Length > 0 ? string.Join(", ", new[] { at.Address, at.Postcode }.Where(part => part.Length > 0))
                : at.IsFound ? DayStops.Position(at) : null,
        };
    }

    private List<RoadPart> WayTo(int i)
    {
        var stop = day.Route.Stops[i];
        var to = MetAt(stop.Entry);
        if (!told.To(i))
        {
            return
            [
                .. i == 0 ? [] : Between(day.Route.Stops[i - 1].Entry.During.End, stop.Entry.During.Start),
                new RoadGap(GapKind.Change, $"To {to}: a place is still to be found, so no drive is told"),
            ];
        }

        if (i == 0)
        {
            return [new RoadLeg($"Home to {to}", stop.Leg.Minutes, Miles(stop.Leg), stop.SlackMinutes)];
        }

        var before = day.Route.Stops[i - 1].Entry;
        var parts = Between(before.During.End, stop.Entry.During.Start).ToList();
        // A test in a car that is not the school's changes nothing about the school's.
        var (carBefore, car) = (before.CarId, stop.Entry.CarId ?? before.CarId ?? Guid.Empty);
        var rests = day.Route.Gaps[i - 1].HoldsRest && context.Rules.RestMinutes > 0;
        if (parts.Count == 0 && rests)
        {
            // Nobody rests for an hour between two lessons: that is free time, though too short, or past, to be booked.
            parts.Add(stop.SlackMinutes > LongestRest
                ? new RoadGap(GapKind.Free, $"Free at {LeftAt(before)}", stop.SlackMinutes)
                : new RoadGap(GapKind.Rest, $"Rest at {LeftAt(before)}", stop.SlackMinutes));
        }

        var spare = parts.Count > 0 && stop.SlackMinutes >= 0 ? 0 : stop.SlackMinutes;
        if (carBefore != car && context.Cars.TryGetValue(car, out var other))
        {
            parts.Add(new RoadGap(GapKind.Change, $"Change to the {CarWords.Of(other)}"));
        }

        if (stop.Leg.Minutes > 0 || spare != 0)
        {
            parts.Add(new RoadLeg(stop.Leg.Minutes == 0 ? $"Stay at {to}" : $"To {to}", stop.Leg.Minutes, Miles(stop.Leg), spare));
        }

        return parts;
    }

    private IEnumerable<RoadPart> Between(Instant from, Instant to)
    {
        var away = day.TimeOff.Where(off => off.StartsAt >= from && off.StartsAt < to || off.StartsAt < from && from == Instant.MinValue)
            .Select(off => (At: off.StartsAt, Part: (RoadPart)new RoadGap(GapKind.Away, off.Reason.Trim().Length == 0 ? $"Off {Within(off)}" : $"Off {Within(off)}: {off.Reason}")));
        var free = day.Free.Where(gap => gap.Start >= from && gap.Start < to)
            .Select(gap => (At: gap.Start, Part: (RoadPart)new RoadGap(
                GapKind.Free, $"Free {context.Times(gap)}, {ScreenWords.Length((int)gap.Duration.TotalMinutes)}", Actions: [new(BookAddress(gap), "Book a lesson")])));
        return away.Concat(free).OrderBy(part => part.At).Select(part => part.Part);
    }

    private string BookAddress(Interval gap) => $"/diary/book?with={day.Instructor.Id}&from={Iso(day.Date)}&after={StartText.Of(gap.Start)}";

    private string Within(TimeOffRow off)
    {
        var zone = context.School.Zone;
        var (first, last) = (off.StartsAt.InZone(zone), off.EndsAt.InZone(zone));
        var (begins, ends) = (zone.AtStartOfDay(day.Date).ToInstant(), zone.AtStartOfDay(day.Date.PlusDays(1)).ToInstant());
        return off.StartsAt <= begins && off.EndsAt >= ends ? "all day"
            : off.EndsAt == ends ? $"from {context.School.Time(off.StartsAt)} to the end of the day"
            : first.Date < day.Date ? $"until {context.School.Time(off.EndsAt)}"
            : last.Date > day.Date ? $"from {context.School.Time(off.StartsAt)}"
            : context.Times(new(off.StartsAt, off.EndsAt));
    }

    private static decimal Miles(Leg leg) => Math.Round((decimal)leg.Miles, 1);

    private static string Minutes(int minutes) => minutes == 1 ? "1 minute" : $"{minutes} minutes";

    private static string Iso(LocalDate date) => date.ToString("uuuu-MM-dd", CultureInfo.InvariantCulture);
}

/// <summary>Who is met when and where, in a glance.</summary>
internal sealed record GlanceStop(string Who, Interval During, string From, int ToldLate)
{
    public bool IsLesson { get; init; }

    public bool HasAddress { get; init; }

    public string ToldWords => HasAddress ? "Told" : "Not told: no e-mail address, ring them";

    /// <summary>Brief, Navigate and Call.</summary>
    public IReadOnlyList<RoadAction> Actions { get; init; } = [];

    /// <summary>The address, to be copied into any map.</summary>
    public string? ToCopy { get; init; }
}
