namespace School.Web.Platform.Layout.Strip;

/// <summary>
/// The measures of a strip. A leg's length on paper is its minutes, driving and spare together; whole miles are
/// counted through the day and every fifth has its milestone. Very short and very long legs are clamped, and a long
/// one is drawn broken so that nobody reads a length from it.
/// </summary>
internal static class RoadDrawing
{
    public const int PixelsPerMinute = 5;
    public const int Shortest = 44;
    public const int Longest = 200;
    private const int MilesPerStone = 5;

    public static IReadOnlyList<RoadRow> Rows(RoadStrip strip)
    {
        var rows = new List<RoadRow>(strip.Parts.Count);
        var miles = strip.MilesBefore;
        foreach (var part in strip.Parts)
        {
            rows.Add(part is RoadLeg leg ? Leg(leg, miles) : new RoadRow(part));
            miles += part is RoadLeg { Miles: var driven } ? driven : 0;
        }

        return rows;
    }

    private static RoadRow Leg(RoadLeg leg, decimal milesBefore)
    {
        var spare = Math.Max(0, leg.SpareMinutes);
        var minutes = Math.Max(1, leg.Minutes + spare);
        var length = minutes * PixelsPerMinute;
        var driving = 100m * leg.Minutes / minutes;
        var late = Math.Min(leg.LateMinutes, leg.Minutes);
        return new RoadRow(leg)
        {
            Height = Math.Clamp(length, Shortest, Longest),
            Broken = length > Longest,
            SparePercent = 100m - driving,
            LatePercent = 100m * late / minutes,
            Miles = MilesBetween(milesBefore, milesBefore + leg.Miles)
                .Select(mile => new MileTick(driving * (mile - milesBefore) / leg.Miles, mile % MilesPerStone == 0 ? mile : null))
                .ToList(),
        };
    }

    private static IEnumerable<int> MilesBetween(decimal before, decimal after)
    {
        for (var mile = (int)Math.Floor(before) + 1; mile <= after; mile++)
        {
            yield return mile;
        }
    }
}

/// <summary>One row of the strip. Percentages run down the row, so the picture keeps its truth when the words need more room.</summary>
internal sealed record RoadRow(RoadPart Part)
{
    /// <summary>The least height in CSS pixels; zero where the words decide.</summary>
    public int Height { get; init; }

    public bool Broken { get; init; }

    public decimal SparePercent { get; init; }

    public decimal LatePercent { get; init; }

    public IReadOnlyList<MileTick> Miles { get; init; } = [];
}

/// <param name="Percent">Down the row.</param>
/// <param name="Stone">The number on the milestone, on every fifth mile.</param>
internal sealed record MileTick(decimal Percent, int? Stone);
