namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>Kinds of route as they stand on screen.</summary>
internal static class RouteWords
{
    public static string Words(this RouteKind kind) => kind switch
    {
        RouteKind.OffRoad => "Off the road",
        RouteKind.QuietStreets => "Quiet streets",
        RouteKind.Town => "Town",
        RouteKind.Country => "Country roads",
        RouteKind.FastRoads => "Fast roads",
        RouteKind.Motorway => "Motorway",
        RouteKind.TestRoutes => "Roads near the test centre",
    };
}
