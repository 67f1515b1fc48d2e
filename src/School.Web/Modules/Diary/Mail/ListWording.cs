using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>The words of a letter about several changes of different kinds: a line for each.</summary>
internal sealed class ListWording : ILetterWording
{
    /// <summary>Name of the fact that holds one change.</summary>
    public const string Change = "change";

    /// <summary>In it: what was done.</summary>
    public const string Done = "done";

    // What was done stood under the name of the lesson's kind, after that where there was one.
    private const string FormerDone = LessonFact.Kind;

    public IReadOnlyCollection<string> Kinds { get; } = [ChangesMail.Several];

    public LetterWords Of(LetterReading letter)
    {
        var lines = letter.All(Change).Select(letter.Part).ToList();
        var links = letter.Links(act => act == LessonFact.Open ? letter.ToPupil ? "Your lessons" : "Your diary" : null);
        return letter.ToPupil
            ? new(
                $"{Diary.Words.Count(lines.Count, "lesson")} changed, from {When(lines[0])}", "Some of your lessons have changed.",
                [.. lines.Select((line, i) => ($"{i + 1}", ForPupil(line)))],
                [
                    .. lines.Exists(line => line.Has(LessonFact.Waits)) ? [LessonWording.OnTheList] : Array.Empty<string>(),
                    .. letter.IsCopy ? Array.Empty<string>() : [$"If a time does not suit you, open your lessons below{letter.OrCall}."],
                ],
                links)
            : new(
                $"{Diary.Words.Count(lines.Count, "change")} in your diary, from {letter.School.Day(First(lines[0]))}", "Some lessons in your diary have changed.",
                [.. lines.Select((line, i) => ($"{i + 1}", ForInstructor(line)))], [], links);
    }

    private static string ForPupil(LetterReading line) => KindOf(line) switch
    {
        MadeKind.Booked => $"{When(line)}{What(line)} with {line.Text(LessonFact.Instructor)}, booked",
        MadeKind.Moved => $"{When(line)}{What(line)} with {line.Text(LessonFact.Instructor)} (before: {Before(line)})",
        MadeKind.Cancelled => $"{When(line)}, cancelled. {(LessonWording.ChargeOf(line) is { } charge ? LessonWording.Done(line, charge) : "")}".TrimEnd(),
    };

    private static string ForInstructor(LetterReading line) => (KindOf(line), line.Text(LessonFact.Part)) switch
    {
        (_, LessonFact.Former) => $"{Before(line)}: {line.Text(LessonFact.Pupil)}, now with {line.Text(LessonFact.Instructor)}",
        (MadeKind.Booked, _) => $"{When(line)}{What(line)}: {line.Text(LessonFact.Pupil)}, booked",
        (MadeKind.Moved, LessonFact.New) => $"{When(line)}{What(line)}: {line.Text(LessonFact.Pupil)}, new to your diary, {line.Text(LessonFact.PickUp)}",
        (MadeKind.Moved, _) => $"{When(line)}{What(line)}: {line.Text(LessonFact.Pupil)} (before: {Before(line)})",
        (MadeKind.Cancelled, _) => $"{When(line)}: {line.Text(LessonFact.Pupil)}, cancelled",
    };

    /// <summary>", mock test, breaks 12:00 to 12:15": what is particular about it. The first edition did not say it.</summary>
    private static string What(LetterReading line)
    {
        if (line.Edition < 2)
        {
            return "";
        }

        var tellsKind = line.All(LessonFact.Kind).Count > (line.Has(Done) ? 0 : 1);
        var kind = tellsKind ? $", {KindWords.Lower(line.Text(LessonFact.Kind))}" : "";
        return line.Has(LessonFact.Break) ? $"{kind}, breaks {line.School.Rests(line.Times(LessonFact.Break))}" : kind;
    }

    private static MadeKind KindOf(LetterReading line) => Enum.Parse<MadeKind>(line.Has(Done) ? line.Text(Done) : line.All(FormerDone)[^1].Text!);

    private static NodaTime.Instant First(LetterReading line) => line.Time(line.Text(LessonFact.Part) == LessonFact.Former ? LessonFact.Before : LessonFact.Lesson).Start;

    private static string When(LetterReading line) => line.School.When(line.Time(LessonFact.Lesson));

    private static string Before(LetterReading line) => line.School.When(line.Time(LessonFact.Before));
}
