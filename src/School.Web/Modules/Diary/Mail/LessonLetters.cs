using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>What the letters about one lesson are made of.</summary>
internal sealed record LetterFacts(
    Lesson Lesson, PupilCard Pupil, InstructorCard Instructor, SchoolFacts School, string Address, ChargeTerms Charges, Instant Now);

/// <summary>The words of every letter about a lesson.</summary>
internal static class LessonLetters
{
    public static Letter BookedForPupil(LetterFacts about) => ToPupil(
        about, $"Lesson booked: {about.When()}", "Your lesson is booked.", about.Facts(), [about.HowToChange(), .. about.Terms()]);

    public static Letter BookedForInstructor(LetterFacts about) => ToInstructor(
        about, $"New lesson: {about.Pupil.Name}, {about.When()}", $"A lesson with {about.Pupil.Name} is now in your diary.", about.Facts());

    public static Letter MovedForPupil(LetterFacts about, Interval from) => ToPupil(
        about, $"Lesson moved: now {about.When()}", "Your lesson has a new time.", [about.Was(from), .. about.Facts()], [.. about.MoveCharge(), about.HowToChange()]);

    public static Letter MovedForInstructor(LetterFacts about, Interval from) => ToInstructor(
        about, $"Lesson moved: {about.Pupil.Name}, now {about.When()}", $"The lesson with {about.Pupil.Name} has a new time.", [about.Was(from), .. about.Facts()]);

    public static Letter HandedOver(LetterFacts about, InstructorCard former, Interval from) => Make(
        about, former.Name, $"Lesson handed over: {about.Pupil.Name}, {about.School.When(from)}",
        $"The lesson with {about.Pupil.Name} has left your diary. {about.Instructor.Name} now gives it.", [about.Was(from), .. about.Facts()], []);

    public static Letter CancelledForPupil(LetterFacts about) => ToPupil(
        about, $"Lesson cancelled: {about.When()}", "This lesson is cancelled.", about.CancelledFacts(),
        [about.Charge(), $"To book another, sign in at {about.Address}{about.OrCall()}."]);

    public static Letter CancelledForInstructor(LetterFacts about) => ToInstructor(
        about, $"Lesson cancelled: {about.Pupil.Name}, {about.When()}", $"The lesson with {about.Pupil.Name} is cancelled.", about.CancelledFacts());

    public static Letter Reminder(LetterFacts about) => ToPupil(
        about, $"Your lesson: {about.When()}", "A reminder of your next lesson.", about.Facts(), [about.HowToChange()]);

    public static Letter ToPupil(this LetterFacts about, string subject, string opening, IReadOnlyList<(string, string)> facts, IReadOnlyList<string> closing) =>
        Make(about, about.Pupil.Name, subject, opening, facts, closing);

    private static Letter ToInstructor(LetterFacts about, string subject, string opening, IReadOnlyList<(string, string)> facts) =>
        Make(about, about.Instructor.Name, subject, opening, facts, []);

    private static Letter Make(
        LetterFacts about, string name, string subject, string opening, IReadOnlyList<(string, string)> facts, IReadOnlyList<string> closing) =>
        new(subject, $"Hello {name},", opening, facts, closing, about.School.Name);

    internal static string When(this LetterFacts about) => about.School.When(about.Lesson.During);

    private static (string, string) Was(this LetterFacts about, Interval from) => ("Before", about.School.When(from));

    internal static List<(string, string)> Facts(this LetterFacts about)
    {
        var (lesson, instructor) = (about.Lesson, about.Instructor);
        List<(string, string)> facts = [("When", about.When()), ("With", NameAndPhone(instructor.Name, instructor.Phone)), ("Pick-up", Where(lesson.PickUp))];
        if (lesson.DropOff != lesson.PickUp)
        {
            facts.Add(("Drop-off", Where(lesson.DropOff)));
        }

        return facts;
    }

    private static IReadOnlyList<(string, string)> CancelledFacts(this LetterFacts about) =>
        [("When", about.When()), ("With", about.Instructor.Name), ("Why", Sentence(about.Lesson.CancelledBecause!.Value.Words()))];

    private static string HowToChange(this LetterFacts about)
    {
        var how = $"To move or cancel it, sign in at {about.Address}{about.OrCall()}.";
        return about.Charges.IsFree(about.Lesson.StartsAt, about.Now)
            ? $"{how} That is free of charge until {about.School.Moment(about.Charges.FreeUntil(about.Lesson.StartsAt))}."
            : $"{how} It begins in less than {Words.Count(about.Charges.FreeHours, "hour")}, so cancelling it yourself is charged.";
    }

    private static string Charge(this LetterFacts about) => about.Lesson.Charge is not { } charge ? ""
        : charge.Chargeable ? $"By the school's terms it is charged. {charge.DoneToPupil()}"
        : $"It is not charged. {charge.DoneToPupil()}";

    /// <summary>Nothing, unless the move itself is charged.</summary>
    private static IEnumerable<string> MoveCharge(this LetterFacts about) => about.Lesson.Charge is { Chargeable: true } charge ? [charge.DoneToPupil()] : [];

    internal static IEnumerable<string> Terms(this LetterFacts about) =>
        string.IsNullOrWhiteSpace(about.School.Terms) ? [] : [about.School.Terms.Trim()];

    internal static string OrCall(this LetterFacts about) => about.School.Phone.Length == 0 ? "" : $", or call {about.School.Phone}";

    private static string Where(Place place) => string.Join(", ", new[] { place.Label, place.Address, place.Postcode }.Where(part => part.Length > 0).Distinct());

    private static string NameAndPhone(string name, string phone) => phone.Length == 0 ? name : $"{name}, {phone}";

    private static string Sentence(string words) => char.ToUpperInvariant(words[0]) + words[1..];
}
