namespace School.Web.Platform.Layout.Strip;

/// <summary>A row and where it stands, which is all that drawing its piece of road needs.</summary>
internal sealed record RoadPlace(RoadRow Row, bool First, bool Last, bool Short)
{
    /// <summary>From the left edge to the middle of the road, and to a stop's lay-by, in CSS pixels.</summary>
    public int Road => Short ? 14 : 38;

    public int LayBy => Short ? 14 : 58;

    /// <summary>From the top of a stop's row to its marker.</summary>
    public int Stop => Short ? 22 : 30;

    /// <summary>The road begins or ends at the sign when the row is the first or the last.</summary>
    public (string From, string Length) Reach => (First, Last, Row.Part) switch
    {
        (true, true, _) => ("50%", "0"),
        (true, _, RoadHome) => ("50%", "50%"),
        (_, true, RoadHome) => ("0", "50%"),
        (true, _, _) when Short => ("22", "100%"),
        (_, true, _) when Short => ("0", "22"),
        _ => ("0", "100%"),
    };

    public string Css => Row.Part switch
    {
        RoadStretch => "stretch",
        RoadStop { Level: not null } => "stop",
        RoadStop stop => $"stop {StateWord(stop.State)}",
        RoadLeg { LateMinutes: > 0 } => "leg late",
        RoadLeg => "leg",
        RoadGap gap => gap.Kind switch
        {
            GapKind.Free => "between free",
            GapKind.Rest => "between rest",
            _ => "between away",
        },
        _ => "home",
    };

    public static string StateWord(StopState state) => state switch
    {
        StopState.Now => "now",
        StopState.Taught => "taught",
        StopState.Missed => "missed",
        _ => "ahead",
    };
}
