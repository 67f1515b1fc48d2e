namespace School.Core.Diary;

/// <summary>What a lesson is for.</summary>
public enum LessonKind
{
    /// <summary>A lesson like any other.</summary>
    Standard,

    /// <summary>A drive to see where a pupil stands.</summary>
    Assessment,

    /// <summary>For somebody who has driven before and wants to again.</summary>
    Refresher,

    /// <summary>On a motorway; see <see cref="MotorwayRule"/>.</summary>
    Motorway,

    /// <summary>Beside a test of the pupil, on its day.</summary>
    TestDay,

    /// <summary>Part of a course of many hours on few days.</summary>
    Intensive,

    /// <summary>A mock test.</summary>
    Mock,
}

/// <summary>What a school says about one kind of lesson.</summary>
/// <param name="Kind">The kind.</param>
/// <param name="Name">What the school calls it.</param>
/// <param name="Minutes">The lengths on offer, in minutes; empty for those of <see cref="DiaryRules.LessonMinutes"/>. Staff may book others.</param>
/// <param name="PupilsBook">Whether pupils book it themselves. Staff may always.</param>
/// <param name="PupilsSee">Whether pupils see that the school gives it. A lesson of theirs says what it is in any case.</param>
/// <param name="Offered">Whether it can be booked at all.</param>
public sealed record KindRule(LessonKind Kind, string Name, IReadOnlyList<int> Minutes, bool PupilsBook, bool PupilsSee, bool Offered)
{
    /// <summary>Most characters of a name.</summary>
    public const int LongestName = 40;

    /// <summary>Most lengths on offer.</summary>
    public const int MostLengths = 24;

    /// <summary>Every kind as it is where the school says nothing else.</summary>
    public static IReadOnlyList<KindRule> Shipped { get; } =
    [
        new(LessonKind.Standard, "Lesson", [], PupilsBook: true, PupilsSee: true, Offered: true),
        new(LessonKind.Assessment, "Assessment", [], PupilsBook: false, PupilsSee: true, Offered: true),
        new(LessonKind.Refresher, "Refresher lesson", [], PupilsBook: false, PupilsSee: true, Offered: true),
        new(LessonKind.Motorway, "Motorway lesson", [], PupilsBook: false, PupilsSee: true, Offered: true),
        new(LessonKind.TestDay, "Lesson on the test day", [], PupilsBook: false, PupilsSee: true, Offered: true),
        new(LessonKind.Intensive, "Intensive lesson", [], PupilsBook: false, PupilsSee: true, Offered: true),
        new(LessonKind.Mock, "Mock test", [], PupilsBook: false, PupilsSee: true, Offered: true),
    ];

    /// <summary>The length to begin with for a pupil who usually has another.</summary>
    /// <param name="pupils">The pupil's usual length, in minutes.</param>
    public int Usual(int pupils) => Minutes.Count == 0 || Minutes.Contains(pupils) ? pupils : Minutes[0];

    /// <summary>Whether somebody may book it.</summary>
    /// <param name="byPupil">Whether that is a pupil.</param>
    public bool MayBook(bool byPupil) => Offered && (PupilsBook || !byPupil);

    /// <summary>What is wrong, by name of the property; empty when all is well.</summary>
    public IReadOnlyDictionary<string, string> Validate()
    {
        var errors = new Dictionary<string, string>();
        var length = BetweenAttribute.Of(typeof(DiaryRules), nameof(DiaryRules.LessonMinutes));
        if (Name.Length is 0 or > LongestName)
        {
            errors[nameof(Name)] = $"Give it a name of 1 to {LongestName} characters.";
        }

        if (Kind == LessonKind.Standard && Minutes.Count > 0)
        {
            errors[nameof(Minutes)] = "The lengths of the usual lesson are those of the booking rules. Change them there.";
        }
        else if (Minutes.Count > MostLengths)
        {
            errors[nameof(Minutes)] = $"Offer at most {MostLengths} lengths.";
        }
        else if (Minutes.Any(minutes => !length.Holds(minutes)))
        {
            errors[nameof(Minutes)] = $"Every length must be from {length.Least} to {length.Most} minutes.";
        }
        else if (Minutes.Distinct().Count() != Minutes.Count)
        {
            errors[nameof(Minutes)] = "Every length may be given only once.";
        }

        if (Kind == LessonKind.Standard && !(Offered && PupilsBook && PupilsSee))
        {
            errors[nameof(Offered)] = "The usual lesson is always offered, to everybody.";
        }
        else if (PupilsBook && !PupilsSee)
        {
            errors[nameof(PupilsSee)] = "What pupils book themselves they must see.";
        }

        return errors;
    }
}
