using NodaTime;
using NodaTime.Text;
using NodaTime.TimeZones;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

/// <summary>Local times that people type, as moments. One that the clock change skips is told, not shifted in silence.</summary>
internal static class LocalMoments
{
    private static readonly LocalTimePattern HourMinute = LocalTimePattern.CreateWithInvariantCulture("HH:mm");
    private static readonly LocalDatePattern Day = LocalDatePattern.CreateWithInvariantCulture("dddd d MMMM uuuu");

    /// <summary>The beginning of something: of a time that comes twice, the first.</summary>
    public static Instant ReadStart(this FieldErrors errors, string field, LocalDateTime typed, DateTimeZone zone) =>
        errors.Read(field, typed, zone, Resolvers.ReturnEarlier);

    /// <summary>The end of something: of a time that comes twice, the second.</summary>
    public static Instant ReadEnd(this FieldErrors errors, string field, LocalDateTime typed, DateTimeZone zone) =>
        errors.Read(field, typed, zone, Resolvers.ReturnLater);

    private static Instant Read(this FieldErrors errors, string field, LocalDateTime typed, DateTimeZone zone, AmbiguousTimeResolver ofTwo)
    {
        if (zone.MapLocal(typed) is { Count: 0 } gap)
        {
            var (from, to) = (gap.EarlyInterval.IsoLocalEnd.TimeOfDay, gap.LateInterval.IsoLocalStart.TimeOfDay);
            errors.Add(
                field,
                $"There is no {HourMinute.Format(typed.TimeOfDay)} on {Day.Format(typed.Date)}: the clocks go forward from {HourMinute.Format(from)} to {HourMinute.Format(to)}. Choose a time before or after.");
        }

        return zone.ResolveLocal(typed, Resolvers.CreateMappingResolver(ofTwo, Resolvers.ReturnStartOfIntervalAfter)).ToInstant();
    }
}
