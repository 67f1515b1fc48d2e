namespace School.Core.Pupils;

/// <summary>What the diary must know of a pupil before the first lesson, and does not yet.</summary>
[Flags]
public enum FirstLessonNeeds
{
    /// <summary>Nothing.</summary>
    None = 0,

    /// <summary>The date of birth.</summary>
    BirthDate = 1,

    /// <summary>Whether the pupil learns in a manual or an automatic.</summary>
    Gearbox = 2,

    /// <summary>The pick-up place.</summary>
    PickUp = 4,
}

/// <summary>Words for <see cref="FirstLessonNeeds"/>.</summary>
public static class FirstLessonNeedsWords
{
    /// <summary>The stable code of the rule.</summary>
    public const string Code = "details_missing";

    /// <summary>Each that is missing, in words: "date of birth".</summary>
    public static IReadOnlyList<string> Each(this FirstLessonNeeds needs) =>
    [
        .. from pair in new[] { (FirstLessonNeeds.BirthDate, "date of birth"), (FirstLessonNeeds.Gearbox, "manual or automatic"), (FirstLessonNeeds.PickUp, "pick-up place") }
           where needs.HasFlag(pair.Item1)
           select pair.Item2,
    ];

    /// <summary>What is missing and what to do.</summary>
    public static Telling Telling(this FirstLessonNeeds needs)
    {
        var all = string.Join(", ", needs.Each());
        return new(
            $"Still needed of the pupil before the first lesson: {all}. Ask for it and enter it on the pupil's page.",
            $"The school still needs to know before your first lesson: {all}. Tell the office, or ask what is missing.");
    }
}
