using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>What is refused of any pupil, whatever it is about.</summary>
internal static class PupilRefusals
{
    public static Refusal Left { get; } = Refusal.Rule(
        "pupil_left", new("This pupil has left the school. Take them back in first.", "You have left the school. Call the office to come back."));
}
