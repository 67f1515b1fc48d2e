using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>
/// Lanes under one scale of time, which runs across: instructors on a day, or days of an instructor. Draw it with
/// <c>&lt;partial name="_TimePicture" model="TimeDrawing.Of(picture)" /&gt;</c>; <c>_TimeTable</c> says the same rows without a picture.
/// </summary>
/// <param name="Label">What the picture shows, for people who hear it.</param>
/// <param name="LaneWord">What a lane is, such as “Instructor”.</param>
internal sealed record TimePicture(string Label, string LaneWord, DateTimeZone Zone, Instant Now, IReadOnlyList<TimeLane> Lanes)
{
    public bool TwelveHour { get; init; }

    /// <summary>The length of two rows of lanes at once: whoever draws many wants them low.</summary>
    public bool Low => Lanes.Count > MostHigh;

    private const int MostHigh = 14;

    public string Time(Instant at) => ScreenWords.Time(at.InZone(Zone).TimeOfDay, TwelveHour);

    public string Times(Interval during) => $"{Time(during.Start)}–{Time(during.End)}";
}

/// <summary>One road: somebody's date, or a date of somebody.</summary>
internal sealed record TimeLane(string Name, string Href, LocalDate Date)
{
    /// <summary>Short lines under the name: the car, how many lessons.</summary>
    public IReadOnlyList<string> Facts { get; init; } = [];

    public IReadOnlyList<Interval> Working { get; init; } = [];

    public IReadOnlyList<TimePlate> Plates { get; init; } = [];

    public IReadOnlyList<TimeDrive> Drives { get; init; } = [];

    public IReadOnlyList<TimeAway> Away { get; init; } = [];

    public IReadOnlyList<TimeOpening> Openings { get; init; } = [];
}

/// <summary>How something stands, each with a shape and a word of its own.</summary>
internal enum PlateState
{
    Booked,
    Now,
    Taught,

    /// <summary>Nobody came.</summary>
    Missed,

    /// <summary>It is over, and nobody said how it was.</summary>
    Open,

    /// <summary>As things stand it cannot take place.</summary>
    Cannot,
    Test,
}

/// <summary>A sign at the roadside: its post stands where it starts, and it is as wide as it is long.</summary>
/// <param name="Word">The state said.</param>
internal sealed record TimePlate(Interval During, PlateState State, string Word, string Who, string Href)
{
    public string? Where { get; init; }

    /// <summary>What is wrong, in a few words; it takes the place of <see cref="Where"/>.</summary>
    public string? Fault { get; init; }

    /// <summary>A moment within it that has a flag: when a test begins.</summary>
    public Instant? Flag { get; init; }
}

/// <summary>A drive.</summary>
/// <param name="Late">How far it reaches into what it leads to.</param>
internal sealed record TimeDrive(Interval During, int Minutes, Duration Late = default)
{
    /// <summary>What it leads to; null for the way home.</summary>
    public TimePlate? Leads { get; init; }
}

/// <summary>Time off.</summary>
internal sealed record TimeAway(Interval During, string Reason, string Href);

/// <summary>Free time that something fits into.</summary>
/// <param name="Lengths">The minutes of what fits, shortest first.</param>
internal sealed record TimeOpening(Interval During, IReadOnlyList<int> Lengths, string Href);
