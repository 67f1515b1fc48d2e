namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>The brief in the pupil's words, on screen and by mail.</summary>
internal static class PlainBrief
{
    /// <summary>The licence is asked for by the school before anybody drives; shoes are common practice, no source.</summary>
    public const string Bring = "Bring your driving licence, and glasses or lenses if you need them to read a number plate. Wear shoes with thin, flat soles.";

    /// <summary>The same as letters before the third edition said it.</summary>
    public const string BringProvisional = "Bring your provisional licence, and glasses or lenses if you need them to read a number plate. Wear shoes with thin, flat soles.";

    public const string Decides = "What you will do is for you and your instructor to decide on the day.";
}
