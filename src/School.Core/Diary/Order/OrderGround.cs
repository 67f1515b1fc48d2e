using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Diary.Order;

/// <summary>The part of a date that has not begun, as stops for <see cref="OrderProgram"/>. Minutes count from the beginning of the date.</summary>
internal sealed class OrderGround
{
    private readonly DiaryPicture picture;
    private readonly InstructorDiary diary;
    private readonly DayTimeline day;
    private readonly Legs legs;
    private readonly List<OrderStop> stops;
    private readonly Coordinates from;
    private readonly Instant leaves;
    private readonly Instant? lastEnds;
    private readonly int homeBy;

    public OrderGround(
        DiaryPicture picture, InstructorDiary diary, LocalDate date, ITravelTimes travel,
        IReadOnlyDictionary<Guid, PupilFacts> pupils, IReadOnlyDictionary<Guid, IReadOnlyList<Interval>> movable)
    {
        (this.picture, this.diary) = (picture, diary);
        (day, legs) = (new(picture.Zone, diary, date), new(travel, picture.Zone));
        var (rules, placed) = (picture.Rules, day.Entries.Where(entry => entry.IsPlaced).ToList());
        Ahead = [.. placed.Where(entry => entry.During.Start > picture.Now)];
        var begun = placed.LastOrDefault(entry => entry.During.Start <= picture.Now);
        var buffer = Duration.FromMinutes(rules.BufferMinutes);
        (from, lastEnds) = (begun?.Ends ?? diary.Instructor.Base, begun?.During.End);
        // Leaving base before the hours begin costs nothing unless the first leg is work.
        leaves = begun is not null ? begun.During.End + buffer
            : rules.FirstLegIsWork ? day.WorkBegins + buffer
            : day.Day.Start - Duration.FromDays(1);
        leaves = Instant.Max(leaves, picture.Now);
        homeBy = rules.LastLegIsWork ? Minute(day.WorkEnds) : OrderProblem.MostMinutes;
        stops = Ahead.ConvertAll(entry => new OrderStop(
            movable.TryGetValue(entry.Id, out var times) ? Windows(entry, times, pupils) : [Fixed(entry)],
            entry.During.Duration.CeilingMinutes()));
    }

    /// <summary>What has not begun, in order of time.</summary>
    public List<DiaryEntry> Ahead { get; }

    /// <summary>Whether every order was looked at: false once a search was given up.</summary>
    public bool IsProved { get; private set; } = true;

    /// <summary>Orders other than today's that drive less by one of the travel matrices, and the minutes kept free beside each
    /// drive, more than the buffer where a rest is to fit.</summary>
    public IEnumerable<(DayOrder Order, int Beside)> Orders(OrderLimits? limits)
    {
        if (Ahead.Count == 0)
        {
            yield break;
        }

        int[] today = [.. Enumerable.Range(0, Ahead.Count)];
        int[] besides = [picture.Rules.BufferMinutes, Math.Max(picture.Rules.BufferMinutes, picture.Rules.RestMinutes)];
        foreach (var travel in new[] { Travel(slowest: false), Travel(slowest: true) })
        {
            foreach (var beside in besides.Distinct())
            {
                var (best, proved) = OrderProgram.Solve(Problem(travel, beside), today, limits);
                IsProved &= proved;
                if (best is not null && !best.Stops.SequenceEqual(today))
                {
                    yield return (best, beside);
                }
            }
        }
    }

    /// <summary>Starts by stop for an order, with the drives of each hour: none before its old time, near the old times, and as early
    /// as can be.</summary>
    public IEnumerable<int[]> Timings((DayOrder Order, int Beside) found)
    {
        var (order, beside) = found;
        // For the windows only: the drives are those of each hour.
        var problem = Problem(new int[(stops.Count + 1) * (stops.Count + 1)], beside);
        if (Starts(order, problem, notBeforeOld: true) is { } later)
        {
            yield return later;
        }

        if (Starts(order, problem, notBeforeOld: false) is not { } earliest)
        {
            yield break;
        }

        yield return NearOldTimes(order, problem, earliest);
        yield return earliest;
    }

    public IReadOnlyList<LessonMove> Moves(int[] starts) =>
    [
        .. Ahead.Select((entry, i) => new LessonMove(entry, new(At(starts[i]), At(starts[i]) + entry.During.Duration)))
            .Where(move => move.To != move.Entry.During).OrderBy(move => move.To.Start),
    ];

    private int[]? Starts(DayOrder order, OrderProblem problem, bool notBeforeOld)
    {
        var starts = new int[stops.Count];
        var (free, place, left) = (Minute(leaves), from, lastEnds);
        foreach (var stop in order.Stops)
        {
            var entry = Ahead[stop];
            var arrives = left is { } last ? free + legs.Minutes(place, entry.Begins!.Value, last) : FirstArrival(entry);
            if (problem.StartAt(stop, notBeforeOld ? Math.Max(arrives, Minute(entry.During.Start)) : arrives) is not { } start)
            {
                return null;
            }

            starts[stop] = start;
            (free, place, left) = (start + problem.Stops[stop].ServiceMinutes, entry.Ends!.Value, At(start) + entry.During.Duration);
        }
        return starts;
    }

    /// <summary>The first minute at which an entry can begin that is driven to from base.</summary>
    private int FirstArrival(DiaryEntry entry)
    {
        var buffer = picture.Rules.FirstLegIsWork ? Duration.FromMinutes(picture.Rules.BufferMinutes) : Duration.Zero;
        return Minute(legs.Earliest(from, entry.Begins!.Value, leaves - buffer) + buffer);
    }

    private int[] NearOldTimes(DayOrder order, OrderProblem problem, int[] earliest)
    {
        var starts = earliest.ToArray();
        for (var i = order.Stops.Count - 1; i >= 0; i--)
        {
            var (stop, entry) = (order.Stops[i], Ahead[order.Stops[i]]);
            var old = Minute(entry.During.Start);
            var next = i + 1 < order.Stops.Count ? order.Stops[i + 1] : -1;
            var onward = legs.Minutes(entry.Ends!.Value, next < 0 ? diary.Instructor.Base : Ahead[next].Begins!.Value, entry.During.End);
            if (old > earliest[stop] && old + problem.Stops[stop].ServiceMinutes + onward <= (next < 0 ? homeBy : starts[next]))
            {
                starts[stop] = old;
            }
        }
        return starts;
    }

    private OrderProblem Problem(int[] travel, int beside) => new(
        [.. stops.Select(stop => stop with { ServiceMinutes = stop.ServiceMinutes + beside })],
        travel, Minute(leaves), homeBy, picture.Rules.GridMinutes);

    private int[] Travel(bool slowest)
    {
        var (first, last) = (Ahead[0].During.Start, Ahead.Max(entry => entry.During.End));
        var moments = slowest
            ? Enumerable.Range(0, (last - first).CeilingMinutes() / 60 + 1).Select(hour => first + Duration.FromHours(hour)).ToList()
            : [first + (last - first) / 2];
        var size = Ahead.Count + 1;
        var travel = new int[size * size];
        for (var i = 0; i < size; i++)
        {
            for (var j = 0; j < size; j++)
            {
                var (origin, to) = (i < Ahead.Count ? Ahead[i].Ends!.Value : from, j < Ahead.Count ? Ahead[j].Begins!.Value : diary.Instructor.Base);
                travel[i * size + j] = i == j ? 0 : moments.Max(moment => legs.Minutes(origin, to, moment));
            }
        }
        return travel;
    }

    private StartWindow Fixed(DiaryEntry entry) => new(Minute(entry.During.Start), Minute(entry.During.Start));

    private List<StartWindow> Windows(DiaryEntry entry, IReadOnlyList<Interval> times, IReadOnlyDictionary<Guid, PupilFacts> pupils)
    {
        var others = entry.PupilId is { } id && pupils.TryGetValue(id, out var pupil)
            ? pupil.Lessons.Where(lesson => lesson.Id != entry.Id).Select(lesson => Stretch.Of(lesson.During)) : [];
        var taken = Stretch.Merge(day.Blocked.Concat(others).Append(new(Instant.MinValue, picture.Now)));
        var open = times.SelectMany(time => day.Spans.Select(span => span.Within(Stretch.Of(time)))).SelectMany(part => Without(part, taken));
        var (grid, now) = (picture.Rules.GridMinutes, Fixed(entry));
        var windows = new List<StartWindow> { now };
        foreach (var part in open.Where(part => part.Length >= entry.During.Duration))
        {
            var (first, last) = (OnGrid(part.Start), Minute(part.End - entry.During.Duration));
            // The old start may stand off the grid; around it the grid goes on.
            Add(first, Math.Min(last, now.From - 1));
            Add(Math.Max(first, (now.To / grid + 1) * grid), last);
        }
        windows.Sort((one, other) => one.From.CompareTo(other.From));
        return windows;

        void Add(int from, int to)
        {
            if (from <= to)
            {
                windows.Add(new(from, to));
            }
        }

        int OnGrid(Instant moment) => (Minute(moment) + grid - 1) / grid * grid;
    }

    private static IEnumerable<Stretch> Without(Stretch part, List<Stretch> taken)
    {
        var at = part.Start;
        foreach (var gone in taken.Where(part.Overlaps))
        {
            if (gone.Start > at)
            {
                yield return new(at, gone.Start);
            }

            at = Instant.Max(at, gone.End);
        }
        if (at < part.End)
        {
            yield return new(at, part.End);
        }
    }

    private int Minute(Instant moment) => (moment - day.Day.Start).CeilingMinutes();

    private Instant At(int minute) => day.Day.Start + Duration.FromMinutes(minute);
}
