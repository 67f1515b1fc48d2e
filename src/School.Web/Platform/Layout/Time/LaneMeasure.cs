namespace School.Web.Platform.Layout.Time;

/// <summary>The heights of a lane in CSS pixels. The road's upper edge is at 0: what stands beside it is above, with a minus.</summary>
/// <param name="Face">The plate.</param>
/// <param name="Post">From the top of the uppermost plate to the road.</param>
/// <param name="Road">The road's own height.</param>
/// <param name="Below">Room for words below the road.</param>
internal sealed record LaneMeasure(int Face, int Post, int Road, int Below)
{
    /// <summary>How much lower a plate is drawn than the one it stands at the same time as.</summary>
    public const int Step = 12;

    /// <summary>Three lines on a plate.</summary>
    public static readonly LaneMeasure High = new(43, 48, 10, 12);

    /// <summary>One line on a plate, for many lanes; still high enough to be pressed.</summary>
    public static readonly LaneMeasure Low = new(24, 28, 10, 12);

    public int Top(int rows) => Post + Step * (rows - 1);

    public int Height(int rows) => Top(rows) + Road + Below;

    /// <summary>The upper edge of a plate in a row, the uppermost being 0.</summary>
    public int Y(int row, int rows) => Step * row - Top(rows);
}
