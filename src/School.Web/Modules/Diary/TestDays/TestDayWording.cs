using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>The words of letters about test days.</summary>
internal sealed class TestDayWording : ILetterWording
{
    public const string Entered = "test_day_entered";
    public const string Changed = "test_day_changed";
    public const string TakenOff = "test_day_taken_off";
    public const string LastFreeDay = "test_last_free_day";
    public const string Tomorrow = "test_tomorrow";

    public const string Pupil = "pupil";
    public const string Starts = "starts";
    public const string Before = "before";
    public const string Centre = "centre";
    public const string Instructor = "instructor";
    public const string PickUp = "pick_up";
    public const string FreeUntil = "free_until";
    public const string SafeUntil = "safe_until";
    public const string NoticeDays = "notice_days";
    public const string Over = "over";

    /// <summary>The reader goes along no longer.</summary>
    public const string Left = "left";

    /// <summary>The agency cancelled the test.</summary>
    public const string ByAgency = "by_agency";

    /// <summary>Code of the act that opens the test day.</summary>
    public const string Open = "open_test_day";

    public IReadOnlyCollection<string> Kinds { get; } = [Entered, Changed, TakenOff, LastFreeDay, Tomorrow];

    public LetterWords Of(LetterReading letter)
    {
        var when = letter.School.Moment(letter.Moment(Starts));
        var (subject, opening, closing) = letter.Letter.Kind switch
        {
            Entered => ($"Test day: {when}", "The day of the practical test is in the diary.", Deadline(letter)),
            Changed when letter.Has(Left) => (
                $"Test day left your diary: {letter.Text(Pupil)}, {letter.School.Moment(letter.Moment(Before))}", "This test day no longer takes your time.", []),
            Changed => ($"Test day changed: {when}", $"The test day in the diary has changed. Before: {letter.School.Moment(letter.Moment(Before))}.", Deadline(letter)),
            TakenOff when letter.Has(ByAgency) => (
                "The agency cancelled the test", "The agency has cancelled this test, so it is off the diary.",
                ["It sends a new date itself. Tell the school when it has come."]),
            TakenOff => (
                "Test day taken off the diary", "This test day is off the diary.", ["The official test is not touched by this: only the pupil can change or cancel it."]),
            LastFreeDay => (
                Named(letter, $"Last day to change the test: {ScreenWords.Day(letter.Day(FreeUntil))}"),
                $"A week from now is the last day on which the test can be changed or cancelled with the fee kept, as counted here: {ScreenWords.DayAndYear(letter.Day(FreeUntil))}.",
                Deadline(letter)),
            _ => (
                Named(letter, $"Test tomorrow: {letter.School.Time(letter.Moment(Starts))}"), "The practical test is tomorrow.",
                (string[])[$"Bring the {(letter.Edition < 3 ? "provisional" : "driving")} licence, and glasses or lenses where they are needed."]),
        };
        return new(subject, opening, Lines(letter, when), closing, letter.Links(act => act == Open ? "The test day" : null));
    }

    private static string Named(LetterReading letter, string subject) => letter.ToPupil ? subject : $"{letter.Text(Pupil)}: {subject}";

    private static List<(string, string)> Lines(LetterReading letter, string when)
    {
        List<(string, string)> lines = [("Pupil", letter.Text(Pupil)), ("Test", when), ("Centre", letter.Text(Centre))];
        if (letter.Has(Instructor))
        {
            lines.AddRange([("With", letter.Text(Instructor)), ("Pick-up", $"{letter.School.Time(letter.Moment(PickUp))}, {letter.Text(PickUp)}")]);
        }

        return lines;
    }

    private static string[] Deadline(LetterReading letter) => letter.Has(Over)
        ? ["The last day to change or cancel it with the fee kept has passed, as counted here. Check the official page."]
        :
        [
            $"As counted here, {ScreenWords.DayAndYear(letter.Day(FreeUntil))} is the last day to change or cancel it with the fee kept ({letter.Number(NoticeDays)} full working days). The official letter or e-mail decides; be a day early, by {ScreenWords.Day(letter.Day(SafeUntil))}.",
            letter.ToPupil ? "Only you can change or cancel the official test; the school cannot." : "Only the pupil can change or cancel the official test; the school cannot.",
        ];
}
