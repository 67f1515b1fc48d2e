namespace School.Web.Modules.Syllabus.Practice;

internal static class PracticeWords
{
    public static string Of(PracticeCondition condition) => condition switch
    {
        PracticeCondition.QuietStreets => "quiet streets",
        PracticeCondition.Town => "town",
        PracticeCondition.Country => "country roads",
        PracticeCondition.FastRoads => "fast roads",
        PracticeCondition.HeavyTraffic => "heavy traffic",
        PracticeCondition.Dark => "in the dark",
        PracticeCondition.Rain => "in the rain",
        PracticeCondition.IceOrFog => "ice, snow or fog",
        PracticeCondition.Passengers => "passengers aboard",
    };

    public static string Capital(PracticeCondition condition) => Of(condition) is [var first, .. var rest] ? char.ToUpperInvariant(first) + rest : "";

    public static string Of(IEnumerable<PracticeCondition> conditions) => string.Join(", ", conditions.Select(Of));
}
