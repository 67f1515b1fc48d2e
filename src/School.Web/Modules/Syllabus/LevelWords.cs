using School.Core.Syllabus;

namespace School.Web.Modules.Syllabus;

/// <summary>Levels as they stand on screen.</summary>
internal static class LevelWords
{
    public static IReadOnlyList<SkillLevel> All { get; } = Enum.GetValues<SkillLevel>();

    /// <summary>How a level came from the one before: “up from Helped”.</summary>
    public static string Move(SkillLevel? before, SkillLevel now) =>
        before is null ? "new" : before < now ? $"up from {before}" : before > now ? $"down from {before}" : "as before";
}
