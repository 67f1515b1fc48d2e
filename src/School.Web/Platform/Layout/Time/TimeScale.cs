using System.Globalization;
using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>Whole hours from the first start to the last end.</summary>
internal sealed class TimeScale
{
    /// <summary>A lane in CSS pixels, as wide as a desk of 1280 px leaves it, and on a phone of 390: what the choice of words reckons with.</summary>
    public const double Wide = 842;

    public const double Narrow = 358;

    private const int HoursApart = 3;
    private const int Quarter = 15;
    private const int LeastMinutes = 6 * 60;
    private const int DefaultFrom = 8 * 60;
    private const int DefaultTo = 18 * 60;
    private const double FlagAndFigure = 34;

    private TimeScale(int from, int to, IReadOnlyList<ScaleHour> hours, double? now) => (From, To, Hours, Now) = (from, to, hours, now);

    public int From { get; }

    public int To { get; }

    public IReadOnlyList<ScaleHour> Hours { get; }

    /// <summary>Where now is; null where it is not within.</summary>
    public double? Now { get; }

    public double Minutes => To - From;

    public static TimeScale Of(DayClock clock, IEnumerable<Span> shown, Instant? now, bool twelveHour)
    {
        var spans = shown.ToList();
        var (first, last) = spans.Count == 0 ? (DefaultFrom, DefaultTo) : (spans.Min(span => span.From), spans.Max(span => span.To));
        var whole = WholeHours(clock);
        var from = whole.LastOrDefault(at => at <= first);
        var to = whole.FirstOrDefault(at => at >= last, clock.Length);
        while (to - from < LeastMinutes && (from > 0 || to < clock.Length))
        {
            to = whole.FirstOrDefault(at => at > to, clock.Length);
            from = to - from < LeastMinutes ? whole.LastOrDefault(at => at < from) : from;
        }

        var at = now is { } moment && clock.Holds(moment) ? clock.At(moment) : (double?)null;
        var seen = at >= from && at <= to ? at : null;
        return new(from, to, [.. Figures(clock, [.. whole.Where(hour => hour >= from && hour <= to)], to - from, seen, twelveHour)], seen);
    }

    /// <summary>Per cent of the width, from the left edge.</summary>
    public double Across(double minutes) => 100 * (Math.Clamp(minutes, From, To) - From) / Minutes;

    /// <summary>What is within the scale of a span; null where nothing is.</summary>
    public Span? Cut(Span span) => span.From >= To || span.To <= From ? null : new(Math.Max(From, span.From), Math.Min(To, span.To));

    /// <summary>CSS pixels on a desk.</summary>
    public double Pixels(double minutes) => Wide * minutes / Minutes;

    private static List<int> WholeHours(DayClock clock) =>
        [.. Enumerable.Range(0, clock.Length / Quarter + 1).Select(n => n * Quarter).Where(at => at == 0 || at == clock.Length || clock.TimeAt(at).Minute == 0)];

    // A figure gives way to the flag of now, on a phone, where less room lies between them, sooner.
    private static IEnumerable<ScaleHour> Figures(DayClock clock, IReadOnlyList<int> whole, double minutes, double? now, bool twelveHour)
    {
        foreach (var at in whole)
        {
            var time = clock.TimeAt(at);
            var third = time.Hour % HoursApart == 0;
            var apart = now is { } flag ? Math.Abs(flag - at) / minutes : 1;
            var figure = apart * Wide < FlagAndFigure ? null : at == clock.Length && !twelveHour ? "24" : Figure(time, twelveHour, third);
            yield return new(at, figure, third, third && apart * Narrow >= FlagAndFigure);
        }
    }

    private static string Figure(LocalTime time, bool twelveHour, bool third) =>
        !twelveHour ? time.ToString("HH", CultureInfo.InvariantCulture)
        : time.ToString("%h", CultureInfo.InvariantCulture) + (third ? time.Hour < 12 ? " am" : " pm" : "");
}

/// <summary>A whole hour of the scale.</summary>
/// <param name="At">Minutes from the beginning of the date.</param>
/// <param name="Figure">What stands above it; null where it gives way.</param>
/// <param name="Third">Whether it is one of every third, which are bold.</param>
/// <param name="OnPhone">Whether its figure stands on a phone too.</param>
internal sealed record ScaleHour(int At, string? Figure, bool Third, bool OnPhone);
