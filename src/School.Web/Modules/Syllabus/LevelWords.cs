using School.Core.Syllabus;

namespace School.Web.Modules.Syllabus;

/// <summary>Levels as they stand on screen.</summary>
internal static class LevelWords
{
    public static IReadOnlyList<SkillLevel> All { get; } = Enum.GetValues<SkillLevel>();

    /// <summary>What a level means, in a few words.</summary>
    public static string Meaning(this SkillLevel level) => level switch
    {
        SkillLevel.Introduced => "shown, following instructions",
        SkillLevel.Helped => "getting better, with some help",
        SkillLevel.Prompted => "a prompt now and then",
        SkillLevel.Independent => "without help, every time",
        SkillLevel.Reflection => "sees how it could have gone otherwise",
    };

    /// <summary>How a level came from the one before: “up from Helped”.</summary>
    public static string Move(SkillLevel? before, SkillLevel now) =>
        before is null ? "new" : before < now ? $"up from {before}" : before > now ? $"down from {before}" : "as before";
}
