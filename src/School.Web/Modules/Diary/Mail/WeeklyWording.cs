using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>The words of letters about several lessons of one pupil with one instructor, by start.</summary>
internal sealed class WeeklyWording : ILetterWording
{
    public IReadOnlyCollection<string> Kinds { get; } = [WeeklyMail.Booked, WeeklyMail.Moved, WeeklyMail.Cancelled];

    public LetterWords Of(LetterReading letter) => letter.ToPupil ? ToPupil(letter) : ToInstructor(letter);

    private static LetterWords ToPupil(LetterReading letter) => letter.Letter.Kind switch
    {
        WeeklyMail.Booked => Words(
            letter, $"{Count(letter)} booked, from {First(letter)}", $"Your {Count(letter)} are booked.", [.. Same(letter), .. Dates(letter)],
            letter.IsCopy ? [] :
            [
                .. LessonWording.Bring(letter),
                $"Each can be moved or cancelled by itself: open your lessons below{letter.OrCall}. That is free of charge until {Diary.Words.Count(letter.Number(LessonFact.FreeHours), "hour")} before it begins.",
                .. LessonWording.Terms(letter),
            ]),
        WeeklyMail.Moved => Words(
            letter, $"{Count(letter)} moved, first now {First(letter)}", $"Your {Count(letter)} have new times.", [.. Same(letter), .. Changes(letter)],
            letter.IsCopy ? [] : [$"If a time does not suit you, open your lessons below{letter.OrCall}."]),
        _ => Words(letter, $"{Count(letter)} cancelled, from {First(letter)}", $"Your {Count(letter)} are cancelled.", [.. What(letter), .. letter.IsCopy ? Dates(letter) : Charged(letter)], []),
    };

    private static LetterWords ToInstructor(LetterReading letter)
    {
        var pupil = letter.Text(LessonFact.Pupil);
        return letter.Letter.Kind switch
        {
            WeeklyMail.Booked => Words(letter, $"{Count(letter)} booked: {pupil}", LessonWording.Opening(letter, $"{Count(letter)} with {pupil} are now in your diary."), [.. What(letter), .. Dates(letter)], []),
            WeeklyMail.Moved when letter.Text(LessonFact.Part) == LessonFact.Former => Words(
                letter, $"{Count(letter)} handed over: {pupil}", $"{Count(letter)} with {pupil} have left your diary. {letter.Text(LessonFact.Instructor)} now gives them.",
                [.. What(letter), .. Changes(letter)], []),
            WeeklyMail.Moved => Words(letter, $"{Count(letter)} moved: {pupil}", $"{Count(letter)} with {pupil} have new times.", [.. What(letter), .. Changes(letter)], []),
            _ => Words(letter, $"{Count(letter)} cancelled: {pupil}", $"{Count(letter)} with {pupil} are cancelled.", [.. What(letter), .. Dates(letter)], []),
        };
    }

    private static LetterWords Words(
        LetterReading letter, string subject, string opening, IReadOnlyList<(string, string)> facts, IReadOnlyList<string> closing) =>
        new(subject, opening, facts, closing, letter.Links(act => act == LessonFact.Open ? letter.ToPupil ? "Your lessons" : "The lessons" : LessonWording.Says(letter, act)));

    private static string First(LetterReading letter) => letter.School.When(letter.Time(LessonFact.Lesson));

    private static string Count(LetterReading letter) => Diary.Words.Count(letter.All(LessonFact.Lesson).Count, "lesson");

    private static List<(string, string)> Dates(LetterReading letter) =>
        [.. letter.Times(LessonFact.Lesson).Select((time, i) => ($"{i + 1}", When(letter, time)))];

    /// <summary>What is told of all of them together; the breaks stand with each.</summary>
    private static IEnumerable<(string, string)> Same(LetterReading letter) => LessonWording.Facts(letter).Skip(1).Where(fact => fact.Item1 != LessonWording.Breaks);

    /// <summary>Their kind, where it is told alone. The first edition did not say it.</summary>
    private static IEnumerable<(string, string)> What(LetterReading letter) =>
        letter.Edition > 1 && letter.Has(LessonFact.Kind) ? [("What", letter.Text(LessonFact.Kind))] : [];

    /// <summary>When one of them is, with its breaks.</summary>
    private static string When(LetterReading letter, Interval time)
    {
        var rests = letter.Times(LessonFact.Break).Where(rest => rest.Start >= time.Start && rest.End <= time.End).ToList();
        return rests.Count == 0 ? letter.School.When(time) : $"{letter.School.When(time)}, breaks {letter.School.Rests(rests)}";
    }

    /// <summary>A lesson's number is 1 where it is charged.</summary>
    private static List<(string, string)> Charged(LetterReading letter) =>
        [.. letter.All(LessonFact.Lesson).Zip(letter.Times(LessonFact.Lesson), (fact, time) => (fact.Number == 1, time))
            .Select((lesson, i) => ($"{i + 1}", $"{letter.School.When(lesson.time)}, {(lesson.Item1 ? "charged" : "not charged")}"))];

    private static List<(string, string)> Changes(LetterReading letter) =>
        [.. letter.Times(LessonFact.Lesson).Zip(letter.Times(LessonFact.Before))
            .Select((pair, i) => ($"{i + 1}", $"{When(letter, pair.First)} (before: {letter.School.When(pair.Second)})"))];
}
