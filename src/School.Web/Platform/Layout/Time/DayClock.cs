using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>
/// Where on a date a moment lies, in minutes from its beginning. A date by itself is drawn as long as it is, 23 or 25 hours where the clocks
/// change. Dates under one another share the figures above them, so there the clock on the wall decides.
/// </summary>
internal sealed class DayClock
{
    private const int WallMinutes = 24 * 60;

    private readonly DateTimeZone zone;
    private readonly Instant end;
    private readonly bool byWall;

    private DayClock(DateTimeZone zone, LocalDate date, bool byWall)
    {
        (this.zone, this.byWall) = (zone, byWall);
        (Start, end) = (zone.AtStartOfDay(date).ToInstant(), zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
    }

    public Instant Start { get; }

    public int Length => byWall ? WallMinutes : (int)(end - Start).TotalMinutes;

    public static DayClock Alone(DateTimeZone zone, LocalDate date) => new(zone, date, byWall: false);

    public static DayClock AmongOthers(DateTimeZone zone, LocalDate date) => new(zone, date, byWall: true);

    /// <summary>A moment before or after the date lies at its edge.</summary>
    public double At(Instant moment) =>
        moment <= Start ? 0
        : moment >= end ? Length
        : byWall ? moment.InZone(zone).TimeOfDay.TickOfDay / (double)NodaConstants.TicksPerMinute
        : (moment - Start).TotalMinutes;

    public bool Holds(Instant moment) => moment >= Start && moment < end;

    /// <summary>What lies of a period on the date; null where nothing does.</summary>
    public Span? Of(Interval during)
    {
        if (during.Start >= end || during.End <= Start || during.Duration <= Duration.Zero)
        {
            return null;
        }

        var (from, to) = (At(during.Start), At(during.End));
        // An hour that comes twice: what ends before it began on the wall is as long as it lasts.
        var lasts = (Instant.Min(during.End, end) - Instant.Max(during.Start, Start)).TotalMinutes;
        return new(from, to > from ? to : Math.Min(Length, from + lasts));
    }

    /// <summary>The local time so many minutes from the beginning.</summary>
    public LocalTime TimeAt(int minutes) => byWall
        ? LocalTime.FromMinutesSinceMidnight(minutes % WallMinutes)
        : (Start + Duration.FromMinutes(minutes)).InZone(zone).TimeOfDay;
}

/// <summary>Minutes from the beginning of a date, from and to.</summary>
internal readonly record struct Span(double From, double To)
{
    public double Minutes => To - From;

    public bool Overlaps(Span other) => From < other.To && other.From < To;
}
