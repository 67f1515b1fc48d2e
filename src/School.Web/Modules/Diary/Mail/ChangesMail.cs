using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Mail;

/// <summary>
/// Writes the letters about everything that one act has done, one for each person: that of a single lesson where there is one, that
/// of weekly lessons where they are alike, else a list. Reminders stay one for each lesson.
/// </summary>
internal sealed class ChangesMail(LessonMail mail, InstructorBook instructors)
{
    public const string Several = "lessons_changed";

    public async Task TellAsync(ChangesMade made, Viewer by, CancellationToken cancel)
    {
        var told = made.All.Where(change => change.IsTold).OrderBy(change => change.Lesson.StartsAt).ToList();
        var facts = (await mail.AboutAllAsync([.. told.Select(change => change.Lesson)], cancel)).Zip(told, (about, change) => new Told(about, change)).ToList();
        await mail.WithdrawRemindersAsync(facts.Where(f => f.Change.Kind is not MadeKind.Booked).Select(f => f.About), cancel);
        foreach (var pupil in facts.GroupBy(f => f.Change.Lesson.PupilId))
        {
            ToPupil([.. pupil]);
        }

        foreach (var instructor in facts.Where(f => f.Change.Lesson.InstructorId != by.InstructorId).GroupBy(f => f.Change.Lesson.InstructorId))
        {
            var leaving = facts.Where(f => f.Change.IsHandedOver && f.Change.FormerInstructorId == instructor.Key);
            ToInstructor([.. instructor], [.. leaving], instructor.First().About.Instructor);
        }

        foreach (var former in facts.Where(f => f.Change.IsHandedOver && f.Change.FormerInstructorId != by.InstructorId).GroupBy(f => f.Change.FormerInstructorId))
        {
            if (facts.TrueForAll(f => f.Change.Lesson.InstructorId != former.Key) && await instructors.FindAsync(former.Key, cancel) is { } card)
            {
                ToFormer([.. former], card);
            }
        }

        facts.Where(f => f.Change.Kind is not MadeKind.Cancelled).Select(f => f.About).ToList().ForEach(mail.Remind);
    }

    private void ToPupil(List<Told> all)
    {
        var (first, abouts) = (all[0], all.ConvertAll(f => f.About));
        if (all is [var one])
        {
            var letter = one.Change.Kind switch
            {
                MadeKind.Booked => LessonLetters.BookedForPupil(one.About),
                MadeKind.Moved => LessonLetters.MovedForPupil(one.About, one.Change.From),
                MadeKind.Cancelled => LessonLetters.CancelledForPupil(one.About),
            };
            mail.Send(
                one.About, KindOf(one.Change.Kind), LessonMail.ToPupil, one.Change.Also is { } also ? letter with { Closing = [also, .. letter.Closing] } : letter,
                one.Change.Kind is MadeKind.Cancelled ? null : one.Change.Lesson.StartsAt);
        }
        else if (AreAlike(all))
        {
            mail.Send(first.About, WeeklyKindOf(first.Change.Kind), LessonMail.ToPupil, first.Change.Kind switch
            {
                MadeKind.Booked => WeeklyLetters.BookedForPupil(abouts),
                MadeKind.Moved => WeeklyLetters.MovedForPupil(abouts, [.. all.Select(f => f.Change.From)]),
                MadeKind.Cancelled => WeeklyLetters.CancelledForPupil(abouts),
            });
        }
        else
        {
            mail.Send(first.About, Several, LessonMail.ToPupil, ListLetters.ForPupil(all));
        }
    }

    private void ToInstructor(List<Told> all, List<Told> leaving, InstructorCard instructor)
    {
        var (first, abouts) = (all[0], all.ConvertAll(f => f.About));
        if (leaving.Count > 0 || (all.Count > 1 && !(AreAlike(all) && IsOnePupil(all))))
        {
            mail.Send(first.About, Several, $"{LessonMail.ToInstructor}:{instructor.Id}", ListLetters.ForInstructor(all, leaving, instructor));
            return;
        }

        var (kind, from) = (first.Change.Kind, all.ConvertAll(f => f.Change.From));
        mail.Send(
            first.About, all.Count == 1 ? KindOf(kind) : WeeklyKindOf(kind), LessonMail.ToInstructor,
            (kind, all.Count == 1) switch
            {
                (MadeKind.Booked, true) => LessonLetters.BookedForInstructor(first.About),
                (MadeKind.Moved, true) when first.Change.IsHandedOver => LessonLetters.BookedForInstructor(first.About),
                (MadeKind.Moved, true) => LessonLetters.MovedForInstructor(first.About, from[0]),
                (MadeKind.Cancelled, true) => LessonLetters.CancelledForInstructor(first.About),
                (MadeKind.Booked, false) => WeeklyLetters.BookedForInstructor(abouts),
                (MadeKind.Moved, false) => WeeklyLetters.MovedForInstructor(abouts, from),
                (MadeKind.Cancelled, false) => WeeklyLetters.CancelledForInstructor(abouts),
            },
            kind is MadeKind.Cancelled || all.Count > 1 ? null : first.Change.Lesson.StartsAt);
    }

    private void ToFormer(List<Told> all, InstructorCard former)
    {
        var (first, abouts) = (all[0], all.ConvertAll(f => f.About));
        if (all is [var one])
        {
            mail.Send(one.About, LessonMail.Moved, LessonMail.ToFormer, LessonLetters.HandedOver(one.About, former, one.Change.From), one.Change.Lesson.StartsAt, former);
        }
        else if (AreAlike(all) && IsOnePupil(all))
        {
            mail.Send(
                first.About, WeeklyMail.Moved, LessonMail.ToFormer, WeeklyLetters.HandedOver(abouts, former, [.. all.Select(f => f.Change.From)]),
                first.Change.Lesson.StartsAt, former);
        }
        else
        {
            mail.Send(first.About, Several, $"{LessonMail.ToFormer}:{former.Id}", ListLetters.ForInstructor([], all, former), instructor: former);
        }
    }

    /// <summary>The same was done to all, which one instructor gives.</summary>
    private static bool AreAlike(List<Told> all) =>
        all.TrueForAll(f => f.Change.Kind == all[0].Change.Kind && f.Change.Lesson.InstructorId == all[0].Change.Lesson.InstructorId && f.Change.Also is null);

    private static bool IsOnePupil(List<Told> all) => all.TrueForAll(f => f.Change.Lesson.PupilId == all[0].Change.Lesson.PupilId);

    private static string KindOf(MadeKind kind) => kind switch
    {
        MadeKind.Booked => LessonMail.Booked,
        MadeKind.Moved => LessonMail.Moved,
        MadeKind.Cancelled => LessonMail.Cancelled,
    };

    private static string WeeklyKindOf(MadeKind kind) => kind switch
    {
        MadeKind.Booked => WeeklyMail.Booked,
        MadeKind.Moved => WeeklyMail.Moved,
        MadeKind.Cancelled => WeeklyMail.Cancelled,
    };
}

/// <summary>A change with what its letters are made of.</summary>
internal sealed record Told(LetterFacts About, ChangeMade Change);
