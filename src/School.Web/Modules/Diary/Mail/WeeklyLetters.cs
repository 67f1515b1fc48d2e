using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>The words of letters about several lessons of one pupil with one instructor, by start.</summary>
internal static class WeeklyLetters
{
    public static Letter BookedForPupil(IReadOnlyList<LetterFacts> all) => new(
        $"{Count(all)} booked, from {all[0].When()}", $"Hello {all[0].Pupil.Name},", $"Your {Count(all)} are booked.",
        [.. all[0].Facts().Skip(1), .. Dates(all)],
        [$"Each can be moved or cancelled by itself: sign in at {all[0].Address}{all[0].OrCall()}. That is free of charge until {Words.Count(all[0].Charges.FreeHours, "hour")} before it begins.", .. all[0].Terms()],
        all[0].School.Name);

    public static Letter BookedForInstructor(IReadOnlyList<LetterFacts> all) => ToInstructor(
        all, $"{Count(all)} booked: {all[0].Pupil.Name}", $"{Count(all)} with {all[0].Pupil.Name} are now in your diary.", Dates(all));

    public static Letter MovedForPupil(IReadOnlyList<LetterFacts> all, IReadOnlyList<Interval> from) => new(
        $"{Count(all)} moved, first now {all[0].When()}", $"Hello {all[0].Pupil.Name},", $"Your {Count(all)} have new times.",
        [.. all[0].Facts().Skip(1), .. Changes(all, from)], [$"If a time does not suit you, sign in at {all[0].Address}{all[0].OrCall()}."], all[0].School.Name);

    public static Letter MovedForInstructor(IReadOnlyList<LetterFacts> all, IReadOnlyList<Interval> from) => ToInstructor(
        all, $"{Count(all)} moved: {all[0].Pupil.Name}", $"{Count(all)} with {all[0].Pupil.Name} have new times.", Changes(all, from));

    public static Letter HandedOver(IReadOnlyList<LetterFacts> all, InstructorCard former, IReadOnlyList<Interval> from) => new(
        $"{Count(all)} handed over: {all[0].Pupil.Name}", $"Hello {former.Name},",
        $"{Count(all)} with {all[0].Pupil.Name} have left your diary. {all[0].Instructor.Name} now gives them.", Changes(all, from), [], all[0].School.Name);

    public static Letter CancelledForPupil(IReadOnlyList<LetterFacts> all) => new(
        $"{Count(all)} cancelled, from {all[0].When()}", $"Hello {all[0].Pupil.Name},", $"Your {Count(all)} are cancelled.",
        [.. all.Select((about, i) => ($"{i + 1}", $"{about.When()}, {(about.Lesson.Chargeable == true ? "charged" : "not charged")}"))],
        [$"To book another, sign in at {all[0].Address}{all[0].OrCall()}."], all[0].School.Name);

    public static Letter CancelledForInstructor(IReadOnlyList<LetterFacts> all) => ToInstructor(
        all, $"{Count(all)} cancelled: {all[0].Pupil.Name}", $"{Count(all)} with {all[0].Pupil.Name} are cancelled.", Dates(all));

    private static Letter ToInstructor(IReadOnlyList<LetterFacts> all, string subject, string opening, IReadOnlyList<(string, string)> facts) =>
        new(subject, $"Hello {all[0].Instructor.Name},", opening, facts, [], all[0].School.Name);

    private static string Count(IReadOnlyList<LetterFacts> all) => all.Count == 1 ? "1 lesson" : $"{all.Count} lessons";

    private static List<(string, string)> Dates(IReadOnlyList<LetterFacts> all) => [.. all.Select((about, i) => ($"{i + 1}", about.When()))];

    private static List<(string, string)> Changes(IReadOnlyList<LetterFacts> all, IReadOnlyList<Interval> from) =>
        [.. all.Select((about, i) => ($"{i + 1}", $"{about.When()} (before: {about.School.When(from[i])})"))];
}
