using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Modules.Syllabus.Lessons;

namespace School.Web.Modules.Syllabus;

/// <summary>Levels, sources and roads as a person reads them.</summary>
internal static class SyllabusWords
{
    public const string Closing = "The instructor’s judgement and the current official text decide.";

    public static string Level(SkillLevel level) => level.ToString();

    public static string LevelMeaning(SkillLevel level) => level switch
    {
        SkillLevel.Introduced => "The topic was shown; the pupil follows instructions.",
        SkillLevel.Helped => "Getting better, still needs some help.",
        SkillLevel.Prompted => "Sometimes needs a prompt, mostly where something is new or unusual.",
        SkillLevel.Independent => "Consistent, confident, without help.",
        SkillLevel.Reflection => "Can talk through how it could have gone otherwise, adapts, and sees why it is safer.",
        _ => throw new ArgumentOutOfRangeException(nameof(level)),
    };

    /// <summary>“The Highway Code, rule 163 (20 June 2024)”.</summary>
    public static string Source(string source, LocalDate? date) => date is { } on ? $"{source} ({SkillText.Of(on)})" : source;

    public static string Route(RouteKind route) => route switch
    {
        RouteKind.OffRoad => "off the road",
        RouteKind.QuietStreets => "quiet streets",
        RouteKind.Town => "town",
        RouteKind.Country => "country roads",
        RouteKind.FastRoads => "fast roads",
        RouteKind.Motorway => "motorway",
        RouteKind.TestRoutes => "roads like those of a test",
        _ => throw new ArgumentOutOfRangeException(nameof(route)),
    };
}

/// <summary>One list of a skill's page.</summary>
internal sealed record PointList(string Heading, IReadOnlyList<SkillPoint> Points);
