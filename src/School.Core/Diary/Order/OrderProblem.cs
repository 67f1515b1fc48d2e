namespace School.Core.Diary.Order;

/// <summary>A span of start times that a stop allows.</summary>
/// <param name="From">First start, in minutes from a common zero such as local midnight; may be negative.</param>
/// <param name="To">Last start, that minute included; equal to <paramref name="From"/> for a fixed time.</param>
public readonly record struct StartWindow(int From, int To);

/// <summary>A stop whose place in the day's order is to be found.</summary>
/// <param name="Windows">When it may start: in order, not overlapping. Without any, no order exists.</param>
/// <param name="ServiceMinutes">How long it keeps the instructor before the next drive, buffer included; 0 or more.</param>
public sealed record OrderStop(IReadOnlyList<StartWindow> Windows, int ServiceMinutes)
{
    /// <summary>A stop with one span of start times.</summary>
    public OrderStop(int from, int to, int serviceMinutes) : this([new(from, to)], serviceMinutes)
    {
    }
}

/// <summary>One day of stops to put in order: what <see cref="OrderProgram"/> solves.</summary>
/// <remarks>
/// All times are whole minutes from a common zero and lie within ±<see cref="MostMinutes"/>. Travel need neither be symmetric
/// nor keep the triangle inequality.
/// </remarks>
public sealed record OrderProblem
{
    /// <summary>The largest time, drive or service that is taken: about ten weeks in minutes.</summary>
    public const int MostMinutes = 100_000;

    /// <summary>Takes a day.</summary>
    /// <param name="stops">0 to <see cref="OrderProgram.MostStops"/> stops.</param>
    /// <param name="travel">Driving minutes, row by row, (n + 1) × (n + 1) for n stops: row i and column j from stop i to stop j;
    /// the last row from where the day begins, the last column to where it ends. What stands on the diagonal does not matter,
    /// except on a day without stops.</param>
    /// <param name="leavesAt">The earliest departure from where the day begins.</param>
    /// <param name="homeBy">The latest arrival where it ends.</param>
    /// <param name="gridMinutes">A start is the first of its window or a multiple of this; 1 for any minute.</param>
    /// <exception cref="ArgumentException">Anything is out of its bounds, or the sizes do not match.</exception>
    public OrderProblem(
        IReadOnlyList<OrderStop> stops, IReadOnlyList<int> travel, int leavesAt, int homeBy = MostMinutes, int gridMinutes = 1)
    {
        ArgumentNullException.ThrowIfNull(stops);
        ArgumentNullException.ThrowIfNull(travel);
        Must(stops.Count <= OrderProgram.MostStops, "There are too many stops.", nameof(stops));
        Must(stops.All(IsValid), "A stop's windows or service are out of order or bounds.", nameof(stops));
        Must(travel.Count == (stops.Count + 1) * (stops.Count + 1), "Travel must have a row and a column more than stops.", nameof(travel));
        Must(travel.All(minutes => minutes is >= 0 and <= MostMinutes), "A drive is out of bounds.", nameof(travel));
        Must(leavesAt is >= -MostMinutes and <= MostMinutes, "The departure is out of bounds.", nameof(leavesAt));
        Must(homeBy is >= -MostMinutes and <= MostMinutes, "The arrival is out of bounds.", nameof(homeBy));
        Must(gridMinutes is >= 1 and <= 1440, "The grid must be 1 to 1,440 minutes.", nameof(gridMinutes));
        (Stops, Travel, LeavesAt, HomeBy, GridMinutes) = (stops, [.. travel], leavesAt, homeBy, gridMinutes);
    }

    /// <summary>The stops, known from here on by their index.</summary>
    public IReadOnlyList<OrderStop> Stops { get; }

    /// <summary>The earliest departure from where the day begins.</summary>
    public int LeavesAt { get; }

    /// <summary>The latest arrival where the day ends.</summary>
    public int HomeBy { get; }

    /// <summary>The grid of starts within a window.</summary>
    public int GridMinutes { get; }

    internal int[] Travel { get; }

    internal int Start => Stops.Count;

    /// <summary>Driving minutes from one stop to another; the number of stops stands for the beginning as origin and for the
    /// end as destination.</summary>
    public int Drive(int from, int to) => Travel[from * (Stops.Count + 1) + to];

    /// <summary>The first allowed start of a stop at or after a minute; null when its windows are over.</summary>
    public int? StartAt(int stop, int minute)
    {
        foreach (var window in Stops[stop].Windows)
        {
            var start = minute <= window.From ? window.From : OnGrid(minute);
            if (start <= window.To)
            {
                return start;
            }
        }
        return null;
    }

    internal int OnGrid(int minute)
    {
        var past = ((minute % GridMinutes) + GridMinutes) % GridMinutes;
        return past == 0 ? minute : minute + GridMinutes - past;
    }

    private static bool IsValid(OrderStop stop)
    {
        var after = -MostMinutes - 1;
        foreach (var window in stop.Windows)
        {
            if (window.From <= after || window.To < window.From || window.To > MostMinutes)
            {
                return false;
            }

            after = window.To;
        }
        return stop.ServiceMinutes is >= 0 and <= MostMinutes;
    }

    private static void Must(bool holds, string sentence, string parameter)
    {
        if (!holds)
        {
            throw new ArgumentException(sentence, parameter);
        }
    }
}

/// <summary>The stops of a day in an order, each as early as its windows allow.</summary>
/// <param name="Stops">The stops by index, in order of time; every stop of the day once.</param>
/// <param name="Starts">When each of them starts, in the same order.</param>
/// <param name="TravelMinutes">All drives, to the first stop and from the last included; waiting is not driving.</param>
/// <param name="EndsAt">Arrival where the day ends.</param>
public sealed record DayOrder(IReadOnlyList<int> Stops, IReadOnlyList<int> Starts, int TravelMinutes, int EndsAt);

/// <summary>What the search for the best order came to.</summary>
/// <param name="Best">The best order found; null when there is none.</param>
/// <param name="IsProved">Whether it is certain that no order drives less (with <paramref name="Best"/> null: that none keeps
/// all windows). False only when more than 14 stops with wide windows made the search too large, or it was given up: then the order is one that
/// keeps all windows, and null says only that none was found.</param>
public sealed record OrderResult(DayOrder? Best, bool IsProved);
