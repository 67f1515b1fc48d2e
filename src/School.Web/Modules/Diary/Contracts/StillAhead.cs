using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>What is booked ahead and keeps a pupil, an instructor or a car from being retired.</summary>
internal sealed record StillAhead(int Lessons, int Tests)
{
    public bool Any => Lessons + Tests > 0;

    /// <summary>"2 lessons and 1 test day".</summary>
    public string What => string.Join(" and ", new[] { Counted(Lessons, "lesson"), Counted(Tests, "test day") }.OfType<string>());

    public string Are => (Lessons > 0 ? Lessons : Tests) == 1 ? "is" : "are";

    /// <summary>What to do about them where others can take them.</summary>
    public string MoveThem => Tests == 0 ? $"Move or cancel {Them}" : Lessons == 0 ? $"Change {Them} or take {Them} off the diary" : "Move, cancel or change them";

    /// <summary>What to do about them where nobody else can.</summary>
    public string EndThem => Tests == 0 ? $"Cancel {Them}" : Lessons == 0 ? $"Take {Them} off the diary" : "Cancel them, or take them off the diary";

    public Refusal Refuse(string sentence) => Refusal.Rule(Lessons > 0 ? "lessons_ahead" : "test_ahead", sentence);

    private string Them => Lessons + Tests == 1 ? "it" : "them";

    private static string? Counted(int count, string one) => count == 0 ? null : Words.Count(count, one);
}
