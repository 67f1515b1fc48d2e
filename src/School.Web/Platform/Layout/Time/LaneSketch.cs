namespace School.Web.Platform.Layout.Time;

/// <summary>One road as small as it can be read.</summary>
/// <param name="Work">Working hours: lines in minutes, stretched to the width of the lane.</param>
/// <param name="Tarmac">The road in use.</param>
internal sealed record LaneSketch(string Work, string Tarmac)
{
    public IReadOnlyList<DrawnPart> Away { get; init; } = [];

    /// <summary>What cannot take place.</summary>
    public IReadOnlyList<DrawnPart> Cannot { get; init; } = [];

    /// <summary>Where tests begin, in per cent of the lane.</summary>
    public IReadOnlyList<double> Flags { get; init; } = [];

    public double? Now { get; init; }
}
