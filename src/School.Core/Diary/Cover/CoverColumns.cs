using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Travel;

namespace School.Core.Diary.Cover;

/// <summary>The cheapest way in which one instructor takes a set of lessons.</summary>
/// <param name="Set">The lessons as a bit mask.</param>
/// <param name="Cost">In <see cref="CoverUnits"/>.</param>
/// <param name="Stops">Where they stand, in order of time.</param>
internal sealed record CoverColumn(int Set, long Cost, IReadOnlyList<CoverStop> Stops);

/// <summary>One lesson at one start, or an entry of the diary that stays (<see cref="Lesson"/> below 0).</summary>
internal sealed class CoverStop(
    Instant start, Instant end, Coordinates? begins, Coordinates? ends, bool isLesson, int lesson, long price, Guid? carId = null,
    IReadOnlyList<Stretch>? stretches = null)
{
    /// <summary>What is worked of it, with a rest between each two.</summary>
    public IReadOnlyList<Stretch> Stretches { get; } = stretches ?? [new(start, end)];

    public Duration Taught => Stretches.Aggregate(Duration.Zero, (sum, stretch) => sum + stretch.Length);

    public Instant Start { get; } = start;

    public Instant End { get; } = end;

    public Coordinates? Begins { get; } = begins;

    public Coordinates? Ends { get; } = ends;

    public bool IsLesson { get; } = isLesson;

    public int Lesson { get; } = lesson;

    public long Price { get; } = price;

    public Guid? CarId { get; } = carId;

    public bool IsTaken => Lesson >= 0;

    public bool IsPlaced => Begins is not null && Ends is not null;
}

/// <summary>What one instructor can take on one date, set by set: for each set of lessons the cheapest feasible day.</summary>
/// <remarks>
/// Label setting over the day in order of time (Desrochers and Soumis 1988, from memory). A label is a day up to its last stop: the lessons
/// taken, where and when the last stop ends, the work since the last rest, the cost. A label that shares taken lessons and last stop
/// with another, costs no less and has worked no less is dropped. All that follows depends on those alone, so nothing better is lost.
/// At most 2ⁿ · n · starts labels; in a filled day far fewer.
/// </remarks>
internal sealed class CoverColumns
{
    private readonly DiaryRules rules;
    private readonly Coordinates home;
    private readonly DayTimeline day;
    private readonly HeldCars cars;
    private readonly Legs legs;
    private readonly CoverLesson[] lessons;
    private readonly InstructorFacts instructor;
    private readonly List<CoverStop> stops;
    private readonly Duration limit;
    private readonly int drivenAnyway;

    public CoverColumns(DiaryPicture picture, InstructorDiary diary, LocalDate date, CoverLesson[] lessons, Legs legs)
    {
        rules = picture.Rules;
        instructor = diary.Instructor;
        home = instructor.Base;
        this.lessons = lessons;
        this.legs = legs;
        day = new(picture.Zone, diary, date);
        cars = new(picture, diary, null);
        limit = Duration.FromMinutes(instructor.DailyLimit(rules)) - day.Taught;
        var kept = day.Entries.Where(entry => entry.IsPlaced || entry.Kind == EntryKind.Lesson).Select(entry => new CoverStop(
            entry.During.Start, entry.During.End, entry.Begins, entry.Ends, entry.Kind == EntryKind.Lesson, -1, 0, entry.CarId, [.. entry.Stretches()])).ToList();
        drivenAnyway = Driven(kept);
        Options = [.. Enumerable.Range(0, lessons.Length).SelectMany(index => OptionsOf(index, picture))];
        stops = [.. kept.Concat(Options).OrderBy(stop => stop.Start).ThenBy(stop => stop.Lesson)];
    }

    /// <summary>Every lesson at every start at which this instructor might take it, had they nothing else to drive to.</summary>
    public List<CoverStop> Options { get; }

    public IEnumerable<Instant> Starts(int lesson) => Options.Where(option => option.Lesson == lesson).Select(option => option.Start);

    /// <summary>The cheapest column of every set, the empty one left out.</summary>
    /// <param name="allowed">Which lesson may start when.</param>
    /// <param name="bounds">What each lesson costs at least, whoever takes it.</param>
    /// <param name="mostMoved">The most lessons at another time than booked.</param>
    /// <param name="upper">Dearer ones are of no use, driving aside.</param>
    /// <param name="steps">Says when to give up.</param>
    /// <param name="complete">False when it was given up, and then there are none.</param>
    public List<CoverColumn> Columns(
        Func<int, Instant, bool> allowed, long[] bounds, int mostMoved, long upper, CoverSteps steps, out bool complete)
    {
        var labels = new List<Label> { new(0, null, home, Instant.MinValue, new(rules), 0, 0, Duration.Zero, bounds.Sum(), null) };
        complete = true;
        if (!Options.Exists(option => allowed(option.Lesson, option.Start)))
        {
            return [];
        }

        foreach (var stop in stops)
        {
            if (steps.GivenUp)
            {
                complete = false;
                return [];
            }
            if (!stop.IsTaken)
            {
                labels = Best(labels.Select(label => Next(label, stop)));
            }
            else if (allowed(stop.Lesson, stop.Start))
            {
                labels.AddRange(Best(labels.Select(label => Take(label, stop, bounds[stop.Lesson], mostMoved, upper))));
            }
        }
        return [.. labels.Where(label => label.Set != 0 && ReachesHome(label)).GroupBy(label => label.Set)
            .Select(group => group.Select(label => (label, Cost: Total(label))).MinBy(pair => pair.Cost))
            .Select(best => new CoverColumn(best.label.Set, best.Cost, Path(best.label)))];
    }

    /// <summary>Where the lessons of a column go, each with the car of the stop before or after where that suits.</summary>
    public IEnumerable<(Guid LessonId, CoverPlace Place)> Places(CoverColumn column)
    {
        var lastCar = (Guid?)null;
        var kept = stops.Where(stop => !stop.IsTaken);
        foreach (var stop in kept.Concat(column.Stops).OrderBy(stop => stop.Start))
        {
            if (!stop.IsTaken)
            {
                lastCar = stop.CarId;
                continue;
            }
            var next = stops.Find(other => !other.IsTaken && other.Start >= stop.End)?.CarId;
            var car = CarFor(lessons[stop.Lesson], new(stop.Start, stop.End), lastCar, next)!.Value;
            lastCar = car;
            yield return (lessons[stop.Lesson].Id, new(instructor.Id, stop.Start, car));
        }
    }

    private IEnumerable<CoverStop> OptionsOf(int index, DiaryPicture picture)
    {
        var lesson = lessons[index];
        if (LearnerRules.Broken(lesson.Pupil, day.Date, rules, LearnerRules.AsksFirst(lesson.Kind)) is not null
            || !instructor.Teaches.Contains(lesson.Pupil.Gearbox) || !instructor.IsRegisteredOn(day.Date)
            || (rules.OnlyInServedAreas && !instructor.ServesPlaceIn(lesson.PickUpAreaId))
            || (instructor.Kind != RegistrationKind.Approved && lesson.IsBoundOn(day.Date))
            || lesson.During.Duration - Duration.FromMinutes(lesson.BreakMinutes) > limit || PupilsWeek(lesson, picture.Zone) > lesson.Pupil.WeeklyMinutes)
        {
            yield break;
        }

        var booked = lesson.During.Start;
        var others = lesson.Windows.Count == 0 ? [] : day.GridStarts(picture.Zone, rules.GridMinutes)
            .Where(start => start != booked && lesson.Windows.Any(window => Stretch.Of(window).Covers(new(start, start + lesson.During.Duration))));
        foreach (var start in others.Prepend(booked))
        {
            var during = new Stretch(start, start + lesson.During.Duration);
            if (start < picture.Now || !day.IsInsideOneSpan(during) || day.IsTimeOff(during) || day.IsTaken(during)
                || lesson.Pupil.Lessons.Any(other => during.Overlaps(Stretch.Of(other.During))) || CarFor(lesson, during, null, null) is null)
            {
                continue;
            }

            yield return new(start, during.End, lesson.PickUp, lesson.DropOff, true, index, Price(lesson, start), stretches: StretchesOf(lesson, during));
        }
    }

    private static IReadOnlyList<Stretch>? StretchesOf(CoverLesson lesson, Stretch during) => lesson.Breaks.Count == 0 ? null
        : [.. new DiaryEntry(lesson.Id, EntryKind.Lesson, new(during.Start, during.End), null, null, null, null) { Breaks = lesson.Breaks }.Stretches()];

    private long Price(CoverLesson lesson, Instant start)
    {
        var by = start > lesson.During.Start ? start - lesson.During.Start : lesson.During.Start - start;
        return (by == Duration.Zero ? 0 : CoverUnits.Moved + by.CeilingMinutes() * CoverUnits.MinutesMoved)
            + (lesson.InstructorId == instructor.Id ? 0 : CoverUnits.Changed);
    }

    private int PupilsWeek(CoverLesson lesson, DateTimeZone zone) =>
        Weeks.Minutes([.. lesson.Pupil.Lessons, new(lesson.Id, lesson.During) { BreakMinutes = lesson.BreakMinutes }], Weeks.Of(day.Date, zone), null);

    private Guid? CarFor(CoverLesson lesson, Stretch during, Guid? first, Guid? second)
    {
        var (car, broken) = cars.Choose(during, day.Date, lesson.Pupil, lesson.IsBoundOn(day.Date), first, second);
        return broken is null ? car : null;
    }

    private Label? Take(Label label, CoverStop stop, long bound, int mostMoved, long upper)
    {
        var bit = 1 << stop.Lesson;
        if ((label.Set & bit) != 0 || label.End > stop.Start)
        {
            return null;
        }

        var (moved, taught) = (label.Moved + (stop.Price >= CoverUnits.Moved ? 1 : 0), label.Taught + stop.Taught);
        var least = label.Least - bound + stop.Price;
        if (moved > mostMoved || taught > limit || least > upper || Next(label, stop) is not { } next)
        {
            return null;
        }

        return next with { Set = label.Set | bit, Moved = moved, Taught = taught, Least = least, Cost = next.Cost + stop.Price };
    }

    /// <summary>The day with one more stop; null when the drive to it or a rest before it does not fit.</summary>
    private Label? Next(Label label, CoverStop stop)
    {
        var drive = 0;
        if (stop.IsPlaced)
        {
            (drive, var need) = label.Last is null ? FirstDrive(stop) : Drive(label, stop);
            if ((stop.IsTaken || label.Last is { IsTaken: true }) && day.Free(label.Last is null ? day.WorkBegins : label.End, stop.Start) < need)
            {
                return null;
            }
        }
        var rest = label.Rest;
        for (var i = 0; i < stop.Stretches.Count; i++)
        {
            if (!rest.Goes(new(stop.Stretches[i], stop.IsLesson, i == 0 ? drive : 0, GoesOn: i > 0)))
            {
                return null;
            }
        }

        // Of entries that overlap (a diary already broken) the one that ends last is left from.
        var moves = stop.IsPlaced && (label.Last is null || stop.End >= label.End);
        return label with
        {
            Last = moves ? stop : label.Last,
            Place = moves ? stop.Ends!.Value : label.Place,
            End = moves ? stop.End : label.End,
            Rest = rest,
            Cost = label.Cost + drive,
            Before = stop.IsTaken ? new(stop, label.Before) : label.Before,
        };
    }

    private (int Minutes, Duration Need) Drive(Label label, CoverStop stop)
    {
        var drive = legs.Minutes(label.Place, stop.Begins!.Value, label.End);
        return (drive, Duration.FromMinutes(drive + rules.BufferMinutes));
    }

    /// <summary>The drive from base, and what it needs of the working hours; nothing where it is no work.</summary>
    private (int Minutes, Duration Need) FirstDrive(CoverStop stop)
    {
        var first = legs.Latest(home, stop.Begins!.Value, stop.Start - Duration.FromMinutes(rules.BufferMinutes));
        return (first.Leg.Minutes, rules.FirstLegIsWork ? day.NeedFirst(first, stop.Start, rules) : Duration.FromDays(-1));
    }

    private bool ReachesHome(Label label) => label.Last is not { IsTaken: true } last || !rules.LastLegIsWork
        || day.Free(last.End, day.WorkEnds) >= Duration.FromMinutes(DriveHome(label) + rules.BufferMinutes);

    private int DriveHome(Label label) => label.Last is null ? 0 : legs.Minutes(label.Place, home, label.End);

    private long Total(Label label)
    {
        var prices = CoverUnits.WithoutDriving(label.Cost);
        return prices + Math.Max(0, label.Cost - prices + DriveHome(label) - drivenAnyway);
    }

    private int Driven(List<CoverStop> kept)
    {
        var (sum, last) = (0, (CoverStop?)null);
        foreach (var stop in kept.Where(stop => stop.IsPlaced))
        {
            sum += last is null ? FirstDrive(stop).Minutes : legs.Minutes(last.Ends!.Value, stop.Begins!.Value, last.End);
            last = last is null || stop.End >= last.End ? stop : last;
        }
        return last is null ? 0 : sum + legs.Minutes(last.Ends!.Value, home, last.End);
    }

    /// <summary>Of labels that end alike, those that neither cost nor work more than another.</summary>
    private static List<Label> Best(IEnumerable<Label?> labels)
    {
        var kept = new Dictionary<(int Set, long? LessonEnded, long Driving, CoverStop? Last), List<Label>>();
        foreach (var label in labels)
        {
            if (label is null)
            {
                continue;
            }

            var key = (label.Set, label.Rest.LessonEnded, label.Rest.Driving, label.Last);
            if (!kept.TryGetValue(key, out var alike))
            {
                kept[key] = alike = [];
            }

            if (alike.Exists(other => other.Cost <= label.Cost && other.Rest.Worked <= label.Rest.Worked))
            {
                continue;
            }

            alike.RemoveAll(other => label.Cost <= other.Cost && label.Rest.Worked <= other.Rest.Worked);
            alike.Add(label);
        }
        return [.. kept.Values.SelectMany(alike => alike)];
    }

    private static List<CoverStop> Path(Label label)
    {
        var path = new List<CoverStop>();
        for (var step = label.Before; step is not null; step = step.Before)
        {
            path.Add(step.Stop);
        }

        path.Reverse();
        return path;
    }

    /// <summary>A day up to its last placed stop.</summary>
    private sealed record Label(
        int Set, CoverStop? Last, Coordinates Place, Instant End, RestCount Rest, long Cost, int Moved, Duration Taught, long Least, Step? Before);

    private sealed record Step(CoverStop Stop, Step? Before);
}
