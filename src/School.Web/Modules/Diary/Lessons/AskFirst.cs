using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A change by staff that makes backing out dearer for the pupil is done once they were asked and agree.</summary>
internal static class AskFirst
{
    public const string Code = "pupils_not_asked";

    /// <summary>What the history says then.</summary>
    public const string Agreed = " Agreed with the pupil.";

    public static readonly Refusal Longer = Refusal.Rule(
        Code, "The pupil can no longer back out of this lesson free of charge, and a longer one costs them more if they do. Ask them first, then confirm that they agree.");

    public static readonly Refusal Nearer = Refusal.Rule(
        Code, "Now the pupil can still back out free of charge; at the new time that is over. Ask them first, then confirm that they agree.");
}
