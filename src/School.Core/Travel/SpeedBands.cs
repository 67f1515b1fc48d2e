namespace School.Core.Travel;

/// <summary>Which of the three profiles of <see cref="StraightLineSettings"/> a day follows.</summary>
public enum DayKind
{
    /// <summary>Monday to Friday.</summary>
    Weekday,

    /// <summary>Saturday.</summary>
    Saturday,

    /// <summary>Sunday.</summary>
    Sunday,
}

/// <summary>Hours of a day with one usual speed.</summary>
/// <param name="From">First hour, 0 to 23.</param>
/// <param name="Until">Hour at which it ends, exclusive; up to 24.</param>
/// <param name="Mph">Average miles an hour.</param>
public readonly record struct SpeedBand(int From, int Until, double Mph);

/// <summary>A profile of 24 hourly speeds told as bands: what a person edits.</summary>
public static class SpeedBands
{
    /// <summary>The hours with one speed each, in order; together they make the day.</summary>
    public static IReadOnlyList<SpeedBand> Of(IReadOnlyList<double> hours)
    {
        var bands = new List<SpeedBand>();
        for (var hour = 0; hour < hours.Count; hour++)
        {
            // Equals, since a speed that could not be read (NaN) makes a band too.
            if (bands.Count > 0 && bands[^1].Mph.Equals(hours[hour]))
            {
                bands[^1] = bands[^1] with { Until = hour + 1 };
            }
            else
            {
                bands.Add(new(hour, hour + 1, hours[hour]));
            }
        }
        return bands;
    }

    /// <summary>24 hourly speeds from where each band begins, in any order. Each lasts until the next begins; the first must begin at 0.</summary>
    /// <returns>The speeds, or null when no band begins at 0, two begin at the same hour, or one outside the day.</returns>
    public static double[]? ToHours(IEnumerable<(int From, double Mph)> starts)
    {
        var ordered = starts.OrderBy(start => start.From).ToList();
        if (ordered.Count == 0 || ordered[0].From != 0 || ordered[^1].From > 23 || ordered.DistinctBy(start => start.From).Count() < ordered.Count)
        {
            return null;
        }

        var hours = new double[24];
        foreach (var (from, mph) in ordered)
        {
            Array.Fill(hours, mph, from, 24 - from);
        }

        return hours;
    }
}
