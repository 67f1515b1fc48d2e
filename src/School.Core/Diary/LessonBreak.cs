using System.Globalization;
using NodaTime;

namespace School.Core.Diary;

/// <summary>A rest within a lesson.</summary>
/// <param name="After">When it begins: so many minutes after the lesson does.</param>
/// <param name="Minutes">How long it lasts.</param>
public readonly record struct LessonBreak(int After, int Minutes)
{
    /// <summary>When it is, in a lesson that starts at a moment.</summary>
    public Interval During(Instant start) => new(start + Duration.FromMinutes(After), start + Duration.FromMinutes(After + Minutes));

    /// <summary>Some rests as a short text, such as "100+15 215+15"; empty for none.</summary>
    public static string Write(IReadOnlyList<LessonBreak> breaks) =>
        string.Join(' ', (breaks ?? []).Select(rest => string.Create(CultureInfo.InvariantCulture, $"{rest.After}+{rest.Minutes}")));

    /// <summary>What <see cref="Write"/> wrote.</summary>
    public static IReadOnlyList<LessonBreak> Read(string text) => string.IsNullOrEmpty(text) ? [] :
        [.. text.Split(' ').Select(rest => rest.Split('+')).Select(part => new LessonBreak(int.Parse(part[0], CultureInfo.InvariantCulture), int.Parse(part[1], CultureInfo.InvariantCulture)))];
}

/// <summary>A lesson as stretches of teaching with a rest between each two.</summary>
/// <remarks>
/// No stretch is longer than <see cref="DiaryRules.RestAfterMinutes"/>. Of all such ways in whole minutes it is the one with the fewest rests, and of
/// these the most even one, longer stretches first; each rest lasts <see cref="DiaryRules.RestMinutes"/>. Where the school asks for no rests there are none.
/// </remarks>
/// <param name="Minutes">Minutes of teaching.</param>
/// <param name="Stretches">How many stretches; at least one.</param>
/// <param name="RestMinutes">How long each rest lasts.</param>
public readonly record struct LessonPlan(int Minutes, int Stretches, int RestMinutes)
{
    /// <summary>The longest that a lesson takes with its rests, in minutes.</summary>
    public const int LongestElapsed = 720;

    /// <summary>The plan of a lesson by the school's rules.</summary>
    /// <param name="minutes">Minutes of teaching.</param>
    /// <param name="rules">The rules.</param>
    public static LessonPlan Of(int minutes, DiaryRules rules)
    {
        ArgumentNullException.ThrowIfNull(rules);
        return new(minutes, rules.RestMinutes == 0 || minutes <= 0 ? 1 : (minutes + rules.RestAfterMinutes - 1) / rules.RestAfterMinutes, rules.RestMinutes);
    }

    /// <summary>Minutes from the beginning to the end.</summary>
    public int Elapsed => Minutes + BreakMinutes;

    /// <summary>Minutes of rest.</summary>
    public int BreakMinutes => (Stretches - 1) * RestMinutes;

    /// <summary>The rests, in order.</summary>
    public IReadOnlyList<LessonBreak> Breaks
    {
        get
        {
            if (Stretches == 1)
            {
                return [];
            }

            var breaks = new LessonBreak[Stretches - 1];
            for (var (i, at) = (0, 0); i < breaks.Length; i++)
            {
                at += Stretch(i);
                breaks[i] = new(at, RestMinutes);
                at += RestMinutes;
            }

            return breaks;
        }
    }

    /// <summary>How long a stretch is, in minutes.</summary>
    internal int Stretch(int number) => (Minutes / Stretches) + (number < Minutes % Stretches ? 1 : 0);
}
