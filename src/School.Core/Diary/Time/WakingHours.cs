using NodaTime;
using NodaTime.TimeZones;

namespace School.Core.Diary.Time;

/// <summary>The hours of the day in which people are written to, by the clock on their wall.</summary>
/// <param name="From">The first moment of the day.</param>
/// <param name="Until">The last, after <paramref name="From"/>.</param>
public sealed record WakingHours(LocalTime From, LocalTime Until)
{
    /// <summary>For what can wait: nine to eight in the evening. Common practice, no source.</summary>
    public static WakingHours Reminders { get; } = new(new(9, 0), new(20, 0));

    /// <summary>For what is soon gone: eight to nine in the evening. Common practice, no source.</summary>
    public static WakingHours Offers { get; } = new(new(8, 0), new(21, 0));

    /// <summary>Whether a moment lies within them, the last one not included.</summary>
    public bool Hold(Instant moment, DateTimeZone zone) => moment.InZone(zone).TimeOfDay is var time && From <= time && time < Until;

    /// <summary>The moment itself, or the nearest within them on the same date.</summary>
    public Instant Nearest(Instant moment, DateTimeZone zone)
    {
        var local = moment.InZone(zone);
        return local.TimeOfDay < From ? At(local.Date, From, zone) : local.TimeOfDay > Until ? At(local.Date, Until, zone) : moment;
    }

    /// <summary>The moment by which so much of them has passed; nights do not count.</summary>
    public Instant After(Instant moment, Duration time, DateTimeZone zone)
    {
        for (var date = moment.InZone(zone).Date; ; date = date.PlusDays(1))
        {
            var from = Instant.Max(moment, At(date, From, zone));
            var left = At(date, Until, zone) - from;
            if (time <= left)
            {
                return from + time;
            }

            time -= left > Duration.Zero ? left : Duration.Zero;
        }
    }

    // An hour that the clock skips is taken as much later; of one that comes twice the first.
    private static Instant At(LocalDate date, LocalTime time, DateTimeZone zone) => zone.ResolveLocal(date + time, Resolvers.LenientResolver).ToInstant();
}
