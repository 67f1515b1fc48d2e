namespace School.Web.Platform.Layout.Map;

/// <summary>Whether this answer draws a map, so that the layout loads what it needs and the policy allows its pictures and no others.</summary>
internal static class PlaceMap
{
    /// <summary>Where a map without tiles asks what to draw.</summary>
    public const string Ground = "/places/ground";

    private sealed record Use(MapTiles? Tiles);

    public static void UseIn(HttpContext context, MapTiles? tiles) => context.Items[typeof(Use)] = new Use(tiles);

    public static bool IsUsedIn(HttpContext context) => context.Items[typeof(Use)] is Use;

    /// <summary>Null where there is no map, or one without tiles.</summary>
    public static MapTiles? TilesOf(HttpContext context) => (context.Items[typeof(Use)] as Use)?.Tiles;
}
