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

    /// <summary>Without which nobody can book: a car and a place are looked for.</summary>
    public const FirstLessonNeeds ToBook = FirstLessonNeeds.Gearbox | FirstLessonNeeds.PickUp;

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

    /// <summary>What must be seen and asked before the wheels turn; a lesson can stand booked until then.</summary>
    /// <param name="birthDate">Date of birth; null while it is still to be asked.</param>
    /// <param name="seesLicence">Whether a licence was seen.</param>
    public static FirstLessonNeeds BeforeDriving(LocalDate? birthDate, bool seesLicence) =>
        (birthDate is null ? FirstLessonNeeds.BirthDate : 0) | (seesLicence ? 0 : FirstLessonNeeds.Licence);

    /// <summary>What stands in the way of driving, as an order to staff and as a request to the pupil; null where nothing does.</summary>
    /// <param name="needs">What is missing; of it only what comes before driving is told.</param>
    public static Telling? SeenFirst(this FirstLessonNeeds needs) =>
        (needs.HasFlag(FirstLessonNeeds.Licence), needs.HasFlag(FirstLessonNeeds.BirthDate)) switch
        {
            (true, true) => new("see the driving licence, ask the date of birth", "Bring your driving licence: your instructor must see it before you drive, and asks your date of birth."),
            (true, false) => new("see the driving licence", "Bring your driving licence: your instructor must see it before you drive."),
            (false, true) => new("ask the date of birth", "Your instructor asks your date of birth before you drive."),
            _ => null,
        };

    /// <summary>Each that is missing by itself.</summary>
    public static IReadOnlyList<FirstLessonNeeds> One(this FirstLessonNeeds needs) => [.. All.Where(one => needs.HasFlag(one.Need)).Select(one => one.Need)];

    /// <summary>Each that is missing by the stable name of the member that holds it: "birthDate".</summary>
    public static IReadOnlyList<string> Names(this FirstLessonNeeds needs) => [.. All.Where(one => needs.HasFlag(one.Need)).Select(one => one.Name)];

    /// <summary>What names stand for, as <see cref="Names"/> gives them; a name that stands for nothing is passed over.</summary>
    /// <param name="names">The names.</param>
    public static FirstLessonNeeds Read(IEnumerable<string> names) =>
        names.Aggregate(FirstLessonNeeds.None, (all, name) => all | Array.Find(All, one => one.Name == name).Need);

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
