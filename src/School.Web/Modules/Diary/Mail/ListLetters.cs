using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>The words of a letter about several changes of different kinds: a line for each.</summary>
internal static class ListLetters
{
    public static Letter ForPupil(IReadOnlyList<Told> all)
    {
        var about = all[0].About;
        return new(
            $"{Words.Count(all.Count, "lesson")} changed, from {all[0].About.When()}", $"Hello {about.Pupil.Name},", "Some of your lessons have changed.",
            [.. all.Select((f, i) => ($"{i + 1}", PupilLine(f)))],
            [.. all.Select(f => f.Change.Also).OfType<string>().Distinct(), $"If a time does not suit you, sign in at {about.Address}{about.OrCall()}."], about.School.Name);
    }

    /// <summary>What is theirs now or no longer takes place, then what somebody else gives.</summary>
    public static Letter ForInstructor(IReadOnlyList<Told> all, IReadOnlyList<Told> leaving, InstructorCard instructor)
    {
        var lines = all.Select(f => (f.Change.Lesson.StartsAt, Line: InstructorLine(f)))
            .Concat(leaving.Select(f => (StartsAt: f.Change.From.Start, Line: $"{f.About.School.When(f.Change.From)}: {f.About.Pupil.Name}, now with {f.About.Instructor.Name}")))
            .OrderBy(line => line.StartsAt).ToList();
        var school = all.Concat(leaving).First().About.School;
        return new(
            $"{Words.Count(lines.Count, "change")} in your diary, from {school.Day(lines[0].StartsAt)}", $"Hello {instructor.Name},", "Some lessons in your diary have changed.",
            [.. lines.Select((line, i) => ($"{i + 1}", line.Line))], [], school.Name);
    }

    private static string PupilLine(Told f) => f.Change.Kind switch
    {
        MadeKind.Booked => $"{f.About.When()} with {f.About.Instructor.Name}, booked",
        MadeKind.Moved => $"{f.About.When()} with {f.About.Instructor.Name} (before: {f.About.School.When(f.Change.From)})",
        MadeKind.Cancelled => $"{f.About.When()}, cancelled. {f.Change.Lesson.Charge?.DoneToPupil()}",
    };

    private static string InstructorLine(Told f) => f.Change.Kind switch
    {
        MadeKind.Booked => $"{f.About.When()}: {f.About.Pupil.Name}, booked",
        MadeKind.Moved when f.Change.IsHandedOver => $"{f.About.When()}: {f.About.Pupil.Name}, new to your diary, {Words.Where(f.Change.Lesson.PickUp)}",
        MadeKind.Moved => $"{f.About.When()}: {f.About.Pupil.Name} (before: {f.About.School.When(f.Change.From)})",
        MadeKind.Cancelled => $"{f.About.When()}: {f.About.Pupil.Name}, cancelled",
    };
}
