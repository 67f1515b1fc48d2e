using School.Core.Diary.Charges;
using School.Core.Pupils;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>The words of every letter about one lesson.</summary>
internal sealed class LessonWording : ILetterWording
{
    /// <summary>Name of the line that tells the rests.</summary>
    public const string Breaks = "Breaks";

    public const string OnTheList = "You are on the waiting list now: you get an e-mail when a time comes free.";

    public IReadOnlyCollection<string> Kinds { get; } = [LessonMail.Booked, LessonMail.Moved, LessonMail.Cancelled, LessonMail.Became, LessonMail.Reminder, LessonMail.Late];

    public LetterWords Of(LetterReading letter) => (letter.Letter.Kind, letter.ToPupil) switch
    {
        (LessonMail.Booked, true) => Booked(letter),
        (LessonMail.Moved, true) => Moved(letter),
        (LessonMail.Cancelled, true) => Cancelled(letter),
        (LessonMail.Became, _) => Became(letter),
        (LessonMail.Late, _) => letter.Has(LessonFact.LateMinutes) ? Late(letter) : OnTime(letter),
        (LessonMail.Reminder, _) => Words(letter, $"Your lesson: {When(letter)}", "A reminder of your next lesson.", Facts(letter), [.. Bring(letter), .. HowToChange(letter)]),
        (LessonMail.Cancelled, false) => Words(
            letter, $"Lesson cancelled: {Pupil(letter)}, {When(letter)}", $"The lesson with {Pupil(letter)} is cancelled.", CancelledFacts(letter), []),
        _ => ToInstructor(letter),
    };

    /// <summary>Words for the links of letters about lessons.</summary>
    public static string? Says(LetterReading letter, string act) => act switch
    {
        LessonFact.Open => letter.ToPupil ? "Your lesson" : "The lesson",
        LessonFact.Book => "Book another lesson",
        _ => null,
    };

    public static List<(string, string)> Facts(LetterReading letter)
    {
        var phone = letter.Text(LessonFact.InstructorPhone);
        var instructor = letter.Text(LessonFact.Instructor);
        List<(string, string)> facts =
            [("When", When(letter)), ("With", phone.Length == 0 ? instructor : $"{instructor}, {phone}"), ("Pick-up", letter.Text(LessonFact.PickUp))];
        if (letter.Has(LessonFact.Kind))
        {
            facts.Insert(1, ("What", letter.Text(LessonFact.Kind)));
        }

        if (letter.Has(LessonFact.Break))
        {
            facts.Add((Breaks, letter.School.Rests(letter.Times(LessonFact.Break))));
        }

        if (letter.Has(LessonFact.DropOff))
        {
            facts.Add(("Drop-off", letter.Text(LessonFact.DropOff)));
        }

        return facts;
    }

    /// <summary>What the pupil is asked to bring and to say before they drive; nothing where all is known, and nothing in a copy.</summary>
    public static IEnumerable<string> Bring(LetterReading letter) => !letter.IsCopy && Needs(letter).SeenFirst() is { } first ? [first.ToPupil] : [];

    private static FirstLessonNeeds Needs(LetterReading letter) => FirstLessonNeedsWords.Read(letter.All(LessonFact.BeforeDriving).Select(fact => fact.Text ?? ""));

    public static string Opening(LetterReading letter, string opening) => Needs(letter).SeenFirst() is { } first ? $"Before driving: {first.ToStaff}. {opening}" : opening;

    public static IEnumerable<string> Terms(LetterReading letter) => letter.IsCopy || string.IsNullOrWhiteSpace(letter.School.Terms) ? [] : [letter.School.Terms.Trim()];

    private static LetterWords Booked(LetterReading letter) =>
        Words(letter, $"Lesson booked: {When(letter)}", "Your lesson is booked.", Facts(letter), [.. Bring(letter), .. HowToChange(letter), .. Terms(letter)]);

    private static LetterWords Moved(LetterReading letter) =>
        Words(
            letter, KeepsItsTime(letter) ? $"Lesson changed: now with {letter.Text(LessonFact.Instructor)}, {When(letter)}" : $"Lesson moved: now {When(letter)}",
            KeepsItsTime(letter) ? $"Your lesson keeps its time. {letter.Text(LessonFact.Instructor)} gives it." : "Your lesson has a new time.",
            KeepsItsTime(letter) ? Facts(letter) : [Was(letter), .. Facts(letter)],
            [.. Bring(letter), .. ChargeOf(letter) is { Chargeable: true } charge && !letter.Has(LessonFact.NothingAsked) ? [Done(letter, charge)] : Array.Empty<string>(), .. HowToChange(letter)]);

    /// <summary>Covered by somebody else or given in another car, at the time at which it was; a letter of an earlier edition said that it was moved.</summary>
    private static bool KeepsItsTime(LetterReading letter) => letter.Edition >= 4 && letter.Time(LessonFact.Before) == letter.Time(LessonFact.Lesson);

    private static LetterWords Became(LetterReading letter)
    {
        var (before, now) = ($"{letter.Text(LessonFact.FormerKind)}, {letter.School.When(letter.Time(LessonFact.Before))}", letter.Text(LessonFact.NewKind));
        return letter.ToPupil
            ? Words(
                letter, $"Lesson changed: {now}, {When(letter)}", "Your lesson stays at its time and is another kind of lesson, or longer or shorter.",
                [("Before", before), .. Facts(letter)], HowToChange(letter))
            : Words(
                letter, $"Lesson changed: {Pupil(letter)}, {now}, {When(letter)}", $"The lesson with {Pupil(letter)} is another kind of lesson, or longer or shorter.",
                [("Before", before), .. Facts(letter)], []);
    }

    private static LetterWords Cancelled(LetterReading letter) => Words(
        letter, $"Lesson cancelled: {When(letter)}", "This lesson is cancelled.", CancelledFacts(letter), [.. Waits(letter), .. Charge(letter)]);

    private static string[] Waits(LetterReading letter) =>
        letter.Has(LessonFact.Waits) ? [OnTheList] : [];

    private static string[] Charge(LetterReading letter) => ChargeOf(letter) is not { } charge ? []
        : letter.Has(LessonFact.NothingAsked) ? [$"It was late, and nothing is asked of you for it. {Done(letter, charge)}"]
        : charge.Chargeable ? [$"By the school's terms it is charged. {Done(letter, charge)}"]
        : [$"It is not charged. {Done(letter, charge)}"];

    /// <summary>What was decided, as the letter's edition counts.</summary>
    public static string Done(LetterReading letter, LessonCharge charge) => charge.DoneToPupil(inHours: letter.Edition < 4);

    public static LessonCharge? ChargeOf(LetterReading letter) => letter.IsCopy || !letter.Has(LessonFact.Charge) ? null : new(
        Enum.Parse<ChargeCode>(letter.Text(LessonFact.Charge)), letter.Number(LessonFact.Charge) == 1, Enum.Parse<ChargeAct>(letter.Text(LessonFact.ChargeAct)),
        letter.Moment(LessonFact.ChargeStart), letter.Moment(LessonFact.ChargeFreeUntil), letter.Moment(LessonFact.ChargedAt));

    private static LetterWords ToInstructor(LetterReading letter) => letter.Letter.Kind == LessonMail.Booked || letter.Text(LessonFact.Part) == LessonFact.New
        ? Words(letter, $"New lesson: {Pupil(letter)}, {When(letter)}", Opening(letter, $"A lesson with {Pupil(letter)} is now in your diary."), Facts(letter), [])
        : letter.Text(LessonFact.Part) == LessonFact.Former
            ? Words(
                letter, $"Lesson handed over: {Pupil(letter)}, {letter.School.When(letter.Time(LessonFact.Before))}",
                $"The lesson with {Pupil(letter)} has left your diary. {letter.Text(LessonFact.Instructor)} now gives it.", [Was(letter), .. Facts(letter)], [])
            : KeepsItsTime(letter)
            ? Words(letter, $"Lesson changed: {Pupil(letter)}, {When(letter)}", Opening(letter, $"The lesson with {Pupil(letter)} keeps its time; its car or a place is another."), Facts(letter), [])
            : Words(
                letter, $"Lesson moved: {Pupil(letter)}, now {When(letter)}", Opening(letter, $"The lesson with {Pupil(letter)} has a new time."), [Was(letter), .. Facts(letter)], []);

    private static LetterWords Late(LetterReading letter)
    {
        var time = letter.School.Time(letter.Moment(LessonFact.Starts));
        var minutes = Diary.Words.Count(letter.Number(LessonFact.LateMinutes), "minute");
        return Words(
            letter,
            $"Running late: your lesson starts at about {time}",
            $"{letter.Text(LessonFact.Instructor)} is running late today. Your lesson starts about {minutes} late, at about {time}, and keeps its full length. We are sorry for the wait.",
            [("Now about", time), .. Facts(letter)],
            [$"You need not do anything. If the later time does not suit you, call your instructor{letter.OrCall}."]);
    }

    private static LetterWords OnTime(LetterReading letter) => Words(
        letter,
        $"On time after all: your lesson starts at {letter.School.Time(letter.Time(LessonFact.Lesson).Start)}",
        "Earlier today we told you that your lesson would start late. It now starts on time after all.",
        Facts(letter),
        []);

    private static LetterWords Words(
        LetterReading letter, string subject, string opening, IReadOnlyList<(string, string)> facts, IReadOnlyList<string> closing) =>
        new(subject, opening, facts, closing, letter.Links(act => Says(letter, act)));

    private static string When(LetterReading letter) => letter.School.When(letter.Time(LessonFact.Lesson));

    private static string Pupil(LetterReading letter) => letter.Text(LessonFact.Pupil);

    private static (string, string) Was(LetterReading letter) => ("Before", letter.School.When(letter.Time(LessonFact.Before)));

    private static IReadOnlyList<(string, string)> CancelledFacts(LetterReading letter) =>
        [("When", When(letter)), ("With", letter.Text(LessonFact.Instructor)), ("Why", Enum.Parse<CancelReason>(letter.Text(LessonFact.Reason)).Label())];

    /// <summary>Nothing in a copy: it opens nothing, and what changing costs is money.</summary>
    private static string[] HowToChange(LetterReading letter)
    {
        if (letter.IsCopy)
        {
            return [];
        }

        var terms = new ChargeTerms(letter.Number(LessonFact.FreeHours));
        var start = letter.Time(LessonFact.Lesson).Start;
        var how = $"To move or cancel it, open it below{letter.OrCall}.";
        return terms.IsFree(start, letter.AsOf)
            ? [$"{how} That is free of charge until {letter.School.Moment(terms.FreeUntil(start))}."]
            : [$"{how} It begins in less than {Diary.Words.Count(terms.FreeHours, "hour")}, so cancelling it yourself is charged."];
    }
}
