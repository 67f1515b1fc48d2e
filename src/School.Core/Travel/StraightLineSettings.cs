using NodaTime;

namespace School.Core.Travel;

/// <summary>Parameters of <see cref="StraightLineTravel"/>: editable, and better fitted to a school's own drives.</summary>
/// <remarks>The defaults are common practice for a small town, no source.</remarks>
public sealed record StraightLineSettings
{
    /// <summary>Road miles per straight-line mile.</summary>
    [Between(1, 3)]
    public double DetourFactor { get; init; } = 1.35;

    /// <summary>Average mph by hour of leaving, 24 numbers, Monday to Friday.</summary>
    [Items(24, 24), Between(1, 70)]
    public IReadOnlyList<double> WeekdayMph { get; init; } = Profile(20, (0, 6, 28), (7, 9, 16), (15, 18, 17), (19, 21, 22), (21, 24, 26));

    /// <summary>Average mph by hour of leaving, 24 numbers, Saturday.</summary>
    [Items(24, 24), Between(1, 70)]
    public IReadOnlyList<double> SaturdayMph { get; init; } = Profile(20, (0, 8, 28), (10, 16, 18), (19, 24, 25));

    /// <summary>Average mph by hour of leaving, 24 numbers, Sunday.</summary>
    [Items(24, 24), Between(1, 70)]
    public IReadOnlyList<double> SundayMph { get; init; } = Profile(22, (0, 9, 28), (19, 24, 26));

    /// <summary>The profile that a weekday follows.</summary>
    public static DayKind KindOf(IsoDayOfWeek day) => day switch
    {
        IsoDayOfWeek.Saturday => DayKind.Saturday,
        IsoDayOfWeek.Sunday => DayKind.Sunday,
        _ => DayKind.Weekday,
    };

    /// <summary>Average mph by hour of leaving on such days.</summary>
    public IReadOnlyList<double> SpeedsOf(DayKind days) => days switch
    {
        DayKind.Saturday => SaturdayMph,
        DayKind.Sunday => SundayMph,
        _ => WeekdayMph,
    };

    /// <summary>What is wrong, by name of the property; empty when all is well.</summary>
    public IReadOnlyDictionary<string, string> Validate()
    {
        var errors = new Dictionary<string, string>();
        var detour = BetweenAttribute.Of(typeof(StraightLineSettings), nameof(DetourFactor));
        if (!detour.Holds(DetourFactor))
        {
            errors[nameof(DetourFactor)] = $"The detour factor must be from {detour.Least} to {detour.Most}.";
        }

        CheckSpeeds(nameof(WeekdayMph), WeekdayMph);
        CheckSpeeds(nameof(SaturdayMph), SaturdayMph);
        CheckSpeeds(nameof(SundayMph), SundayMph);
        return errors;

        void CheckSpeeds(string field, IReadOnlyList<double> speeds)
        {
            var (hours, speed) = (ItemsAttribute.Of(typeof(StraightLineSettings), field).Most, BetweenAttribute.Of(typeof(StraightLineSettings), field));
            if (speeds.Count != hours)
            {
                errors[field] = $"Give {hours} speeds, one for each hour of the day.";
            }
            else if (!speeds.All(speed.Holds))
            {
                errors[field] = $"Every speed must be from {speed.Least} to {speed.Most} mph.";
            }
        }
    }

    private static double[] Profile(double usual, params (int From, int Until, double Mph)[] hours)
    {
        var speeds = Enumerable.Repeat(usual, 24).ToArray();
        foreach (var (from, until, mph) in hours)
        {
            Array.Fill(speeds, mph, from, until - from);
        }

        return speeds;
    }
}
