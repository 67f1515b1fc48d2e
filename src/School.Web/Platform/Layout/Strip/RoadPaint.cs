namespace School.Web.Platform.Layout.Strip;

/// <summary>Painted hatching, as a road has where it keeps traffic apart: here it keeps two lessons apart.</summary>
internal static class RoadPaint
{
    public static readonly string Hatching =
        string.Concat(Enumerable.Range(-1, 1 + RoadDrawing.Longest / 8).Select(line => $"M-2 {8 * line + 12}l28 -14"));
}
