using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;

namespace School.Web.Modules.Syllabus;

/// <summary>Sources as a person reads them, and what every page about learning ends with.</summary>
internal static class SyllabusWords
{
    public const string Closing = "The instructor’s judgement and the current official text decide.";

    /// <summary>“The Highway Code, rule 163 (20 June 2024)”.</summary>
    public static string Source(string source, LocalDate? date) => date is { } on ? $"{source} ({SkillText.Of(on)})" : source;
}

/// <summary>One list of a skill's page.</summary>
internal sealed record PointList(string Heading, IReadOnlyList<SkillPoint> Points);
