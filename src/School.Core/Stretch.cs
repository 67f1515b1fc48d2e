using NodaTime;

namespace School.Core;

/// <summary>A half-open period whose ends always exist: an open end becomes the beginning or end of time.</summary>
internal readonly record struct Stretch(Instant Start, Instant End)
{
    public static Stretch Of(Interval interval) => new(
        interval.HasStart ? interval.Start : Instant.MinValue,
        interval.HasEnd ? interval.End : Instant.MaxValue);

    public Duration Length => End > Start ? End - Start : Duration.Zero;

    public bool Overlaps(Stretch other) => Start < other.End && other.Start < End;

    public bool Covers(Stretch other) => Start <= other.Start && other.End <= End;

    public Stretch Within(Stretch bounds) => new(Instant.Max(Start, bounds.Start), Instant.Min(End, bounds.End));

    /// <summary>The same moments as ordered stretches that neither overlap nor touch.</summary>
    public static List<Stretch> Merge(IEnumerable<Stretch> stretches)
    {
        var merged = new List<Stretch>();
        foreach (var next in stretches.Where(s => s.End > s.Start).OrderBy(s => s.Start))
        {
            if (merged.Count > 0 && next.Start <= merged[^1].End)
            {
                merged[^1] = merged[^1] with { End = Instant.Max(merged[^1].End, next.End) };
            }
            else
            {
                merged.Add(next);
            }
        }
        return merged;
    }
}
