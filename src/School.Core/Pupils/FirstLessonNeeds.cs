using NodaTime;
using School.Core.Cars;

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

    /// <summary>
    /// The driving licence. Told with the others, so that all is asked for in one round; where it alone is not seen the rule about licences says so.
    /// </summary>
    Licence = 8,
}

/// <summary>Words for <see cref="FirstLessonNeeds"/>.</summary>
public static class FirstLessonNeedsWords
{
    /// <summary>The stable code of the rule.</summary>
    public const string Code = "details_missing";

    private static readonly (FirstLessonNeeds Need, string Name, string Words)[] All =
    [
        (FirstLessonNeeds.BirthDate, "birthDate", "date of birth"), (FirstLessonNeeds.Gearbox, "gearbox", "kind of car (manual or automatic)"),
        (FirstLessonNeeds.Licence, "licence", "driving licence"), (FirstLessonNeeds.PickUp, "pickUp", "pick-up place"),
    ];

    /// <summary>What is missing, with the licence among it where none was seen.</summary>
    /// <param name="birthDate">Date of birth; null while it is still to be asked.</param>
    /// <param name="gearbox">The gearbox; null while it is still to be asked.</param>
    /// <param name="knowsPickUp">Whether anything is known of the pick-up place.</param>
    /// <param name="seesLicence">Whether a licence was seen.</param>
    public static FirstLessonNeeds Of(LocalDate? birthDate, Gearbox? gearbox, bool knowsPickUp, bool seesLicence)
    {
        var missing = (birthDate is null ? FirstLessonNeeds.BirthDate : 0) | (gearbox is null ? FirstLessonNeeds.Gearbox : 0) | (knowsPickUp ? 0 : FirstLessonNeeds.PickUp);
        return missing == FirstLessonNeeds.None || seesLicence ? missing : missing | FirstLessonNeeds.Licence;
    }

    /// <summary>Each that is missing by itself.</summary>
    public static IReadOnlyList<FirstLessonNeeds> One(this FirstLessonNeeds needs) => [.. All.Where(one => needs.HasFlag(one.Need)).Select(one => one.Need)];

    /// <summary>Each that is missing by the stable name of the member that holds it: "birthDate".</summary>
    public static IReadOnlyList<string> Names(this FirstLessonNeeds needs) => [.. All.Where(one => needs.HasFlag(one.Need)).Select(one => one.Name)];

    /// <summary>Each that is missing, in words: "date of birth".</summary>
    public static IReadOnlyList<string> Each(this FirstLessonNeeds needs) => [.. All.Where(one => needs.HasFlag(one.Need)).Select(one => one.Words)];

    /// <summary>What is missing and what to do.</summary>
    public static Telling Telling(this FirstLessonNeeds needs)
    {
        var all = string.Join(", ", needs.Each());
        return new(
            $"Still needed of the pupil before the first lesson: {all}. Ask for it and enter it on the pupil's page.",
            $"The school still needs to know before your first lesson: {all}. Tell the office, or ask what is missing.");
    }
}
