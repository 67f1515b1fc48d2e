using NodaTime;
using NodaTime.TimeZones;

namespace School.Core;

/// <summary>A span of local time as moments of one date.</summary>
internal static class LocalSpan
{
    // Of a repeated time the start takes the first and the end the second; a skipped time moves to the end of the gap.
    private static readonly ZoneLocalMappingResolver StartOfSpan =
        Resolvers.CreateMappingResolver(Resolvers.ReturnEarlier, Resolvers.ReturnStartOfIntervalAfter);
    private static readonly ZoneLocalMappingResolver EndOfSpan =
        Resolvers.CreateMappingResolver(Resolvers.ReturnLater, Resolvers.ReturnStartOfIntervalAfter);

    /// <summary>From one local time to another of the same date; midnight as the end means the end of the date.</summary>
    public static Interval During(LocalDate date, LocalTime from, LocalTime to, DateTimeZone zone)
    {
        var end = to == LocalTime.Midnight ? date.PlusDays(1).AtMidnight() : date + to;
        var start = zone.ResolveLocal(date + from, StartOfSpan).ToInstant();
        return new(start, Instant.Max(start, zone.ResolveLocal(end, EndOfSpan).ToInstant()));
    }
}
