using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.HandOvers;

/// <summary>The words of letters about a pupil who goes to another instructor for good.</summary>
internal sealed class HandOverWording : ILetterWording
{
    public const string Kind = "pupil_handed_over";

    public const string ToPupil = "pupil";
    public const string ToNew = "instructor";
    public const string ToFormer = "former_instructor";

    /// <summary>From which day on.</summary>
    public const string From = "from";

    /// <summary>With whom the pupil usually learned.</summary>
    public const string Former = "former_name";

    /// <summary>A lesson that goes with the pupil, and one that stays with whom it is.</summary>
    public const string Goes = "goes";
    public const string Stays = "stays";

    /// <summary>Codes of the acts that open the brief of the first lesson, and how far the pupil has come.</summary>
    public const string Brief = "open_brief";
    public const string Progress = "open_progress";

    public IReadOnlyCollection<string> Kinds { get; } = [Kind];

    public LetterWords Of(LetterReading letter)
    {
        var (pupil, to, from) = (letter.Text(LessonFact.Pupil), letter.Text(LessonFact.Instructor), ScreenWords.DayAndYear(letter.Day(From)));
        var former = letter.Has(Former) ? letter.Text(Former) : null;
        var goes = letter.All(Goes).Select(letter.Part).ToList();
        List<(string, string)> stays = [.. letter.All(Stays).Select(letter.Part).Select((line, i) => ($"Stays {i + 1}", $"{When(line)}, with {line.Text(LessonFact.Instructor)}"))];
        var phone = letter.Has(LessonFact.InstructorPhone) ? $", {letter.Text(LessonFact.InstructorPhone)}" : "";
        return letter.ToPupil
            ? new(
                $"From {from} you learn with {to}",
                $"{to} teaches you from {from} on{(former is null ? "" : $", in place of {former}")}. What you have learned so far goes with you.",
                [("With", to + phone), .. goes.Select((line, i) => ($"{i + 1}", $"{When(line)}, with {to}, at the same time as before")), .. stays],
                letter.IsCopy ? [] : [$"You need not do anything, and it costs you nothing. If a time does not suit you, open your lessons below{letter.OrCall}."],
                letter.Links(act => act == LessonFact.Open ? "Your lessons" : null))
            : letter.Text(LessonFact.Part) == LessonFact.Former
                ? new(
                    $"{pupil} learns with {to} from {from}",
                    $"{pupil} goes to {to} from {from} on. The lessons below have left your diary; those that stay are named.",
                    [.. goes.Select((line, i) => ($"{i + 1}", When(line))), .. stays], [], [])
                : new(
                    $"You take over {pupil} from {from}",
                    $"{pupil} learns with you from {from} on{(former is null ? "" : $", and did so with {former} until then")}. Look at the brief before the first lesson.",
                    [.. goes.Select((line, i) => ($"{i + 1}", $"{When(line)}, {line.Text(LessonFact.PickUp)}")), .. stays], [],
                    letter.Links(act => act switch { Brief => "Brief of the first lesson", Progress => "How far they have come", _ => null }));
    }

    private static string When(LetterReading line) => line.School.When(line.Time(LessonFact.Lesson));
}
