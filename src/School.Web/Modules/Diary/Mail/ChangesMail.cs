using School.Web.Modules.Diary.HandOvers;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Mail;

/// <summary>
/// Writes the letters about everything that one act has done, one for each person: that of a single lesson where there is one, that
/// of weekly lessons where they are alike, else a list. Reminders stay one for each lesson.
/// </summary>
internal sealed class ChangesMail(LessonMail mail, HandOverMail handOver)
{
    public const string Several = "lessons_changed";

    private static readonly Act OpenAll = new(LessonFact.Open, "/diary/lessons");

    public async Task TellAsync(ChangesMade made, Viewer by, CancellationToken cancel)
    {
        var told = made.All.Where(change => change.IsTold).OrderBy(change => change.Lesson.StartsAt).ToList();
        var facts = (await mail.AboutAllAsync([.. told.Select(change => change.Lesson)], cancel)).Zip(told, (about, change) => new Told(about, change)).ToList();
        await mail.WithdrawRemindersAsync(facts.Where(f => f.Change.Kind is not MadeKind.Booked).Select(f => f.About), cancel);
        if (made.HandedOver is { } handedOver)
        {
            await handOver.TellAsync(handedOver, facts, by, cancel);
        }
        else
        {
            await TellEachAsync(facts, by, cancel);
        }

        foreach (var about in facts.Where(f => f.Change.Kind is not MadeKind.Cancelled).Select(f => f.About))
        {
            await mail.RemindAsync(about, cancel);
        }
    }

    private async Task TellEachAsync(List<Told> facts, Viewer by, CancellationToken cancel)
    {
        foreach (var pupil in facts.GroupBy(f => f.Change.Lesson.PupilId))
        {
            await ToPupilAsync([.. pupil], cancel);
        }

        foreach (var instructor in facts.Where(f => f.Change.Lesson.InstructorId != by.InstructorId).GroupBy(f => f.Change.Lesson.InstructorId))
        {
            var leaving = facts.Where(f => f.Change.IsHandedOver && f.Change.FormerInstructorId == instructor.Key);
            await ToInstructorAsync([.. instructor], [.. leaving], instructor.Key, cancel);
        }

        foreach (var former in facts.Where(f => f.Change.IsHandedOver && f.Change.FormerInstructorId != by.InstructorId).GroupBy(f => f.Change.FormerInstructorId))
        {
            if (facts.TrueForAll(f => f.Change.Lesson.InstructorId != former.Key))
            {
                await ToFormerAsync([.. former], former.Key, cancel);
            }
        }
    }

    private async Task ToPupilAsync(List<Told> all, CancellationToken cancel)
    {
        var (about, change) = all[0];
        var cancelled = change.Kind is MadeKind.Cancelled;
        var receiver = Receiver.Pupil(change.Lesson.PupilId);
        if (all.Count == 1)
        {
            await mail.WriteAsync(
                about, KindOf(change.Kind), LessonMail.ToPupil, receiver, all[0].Facts(), cancel, cancelled ? LessonMail.BookAnother : null,
                cancelled ? null : change.Lesson.StartsAt);
        }
        else if (AreAlike(all))
        {
            await mail.WriteAsync(about, WeeklyKindOf(change.Kind), LessonMail.ToPupil, receiver, Series(all), cancel, cancelled ? LessonMail.BookAnother : OpenAll);
        }
        else
        {
            await mail.WriteAsync(about, Several, LessonMail.ToPupil, receiver, [.. all.Select(f => f.Line())], cancel, OpenAll);
        }
    }

    private async Task ToInstructorAsync(List<Told> all, List<Told> leaving, Guid instructor, CancellationToken cancel)
    {
        var (about, change) = all[0];
        var receiver = Receiver.Instructor(instructor);
        if (leaving.Count > 0 || (all.Count > 1 && !(AreAlike(all) && IsOnePupil(all))))
        {
            await mail.WriteAsync(about, Several, $"{LessonMail.ToInstructor}:{instructor}", receiver, Lines(all, leaving), cancel, OpenAll);
        }
        else if (all.Count == 1)
        {
            Fact[] part = change.IsHandedOver ? [Fact.Of(LessonFact.Part, LessonFact.New)] : [];
            await mail.WriteAsync(
                about, KindOf(change.Kind), LessonMail.ToInstructor, receiver, [.. all[0].Facts(), .. part], cancel, null,
                change.Kind is MadeKind.Cancelled ? null : change.Lesson.StartsAt);
        }
        else
        {
            await mail.WriteAsync(about, WeeklyKindOf(change.Kind), LessonMail.ToInstructor, receiver, Series(all), cancel, OpenAll);
        }
    }

    private async Task ToFormerAsync(List<Told> all, Guid former, CancellationToken cancel)
    {
        var (about, change) = all[0];
        var receiver = Receiver.Instructor(former);
        var part = Fact.Of(LessonFact.Part, LessonFact.Former);
        if (all.Count == 1)
        {
            await mail.WriteAsync(about, LessonMail.Moved, LessonMail.ToFormer, receiver, [.. all[0].Facts(), part], cancel, null, change.Lesson.StartsAt);
        }
        else if (AreAlike(all) && IsOnePupil(all))
        {
            await mail.WriteAsync(about, WeeklyMail.Moved, LessonMail.ToFormer, receiver, [.. Series(all), part], cancel, null, change.Lesson.StartsAt);
        }
        else
        {
            await mail.WriteAsync(about, Several, $"{LessonMail.ToFormer}:{former}", receiver, Lines([], all), cancel, OpenAll);
        }
    }

    /// <summary>What is theirs now or no longer takes place, and what somebody else gives, by when it is.</summary>
    private static List<Fact> Lines(List<Told> all, List<Told> leaving) =>
    [
        .. all.Select(f => (f.Change.Lesson.StartsAt, Line: f.Line(f.Change.IsHandedOver ? LessonFact.New : null)))
            .Concat(leaving.Select(f => (StartsAt: f.Change.From.Start, Line: f.Line(LessonFact.Former))))
            .OrderBy(line => line.StartsAt).Select(line => line.Line),
    ];

    /// <summary>Each lesson's time, with 1 where it is charged, then when each was before, then what is the same in all, then the breaks of each.</summary>
    private static List<Fact> Series(List<Told> all) =>
    [
        .. all.Select(f => Fact.Of(LessonFact.Lesson, f.Change.Lesson.During) with { Number = f.Change.Lesson.Chargeable == true ? 1 : null }),
        .. all.Where(f => f.Change.Kind is MadeKind.Moved).Select(f => Fact.Of(LessonFact.Before, f.Change.From)),
        .. all[0].About.Common(),
        .. all.Where(f => f.Change.Kind is not MadeKind.Cancelled).SelectMany(f => f.Change.Lesson.Rests()).Select(rest => Fact.Of(LessonFact.Break, rest)),
    ];

    /// <summary>The same was done to all, which one instructor gives.</summary>
    private static bool AreAlike(List<Told> all) =>
        all.TrueForAll(f => f.Change.Kind == all[0].Change.Kind && f.Change.Lesson.InstructorId == all[0].Change.Lesson.InstructorId
            && f.Change.Lesson.Kind == all[0].Change.Lesson.Kind && !f.Change.Waits);

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
internal sealed record Told(LetterFacts About, ChangeMade Change)
{
    /// <summary>The facts of the letter about this change alone.</summary>
    public List<Fact> Facts()
    {
        List<Fact> facts = About.With(About.Charge());
        if (Change.Kind is MadeKind.Moved)
        {
            facts.Add(Fact.Of(LessonFact.Before, Change.From));
        }

        if (Change.Kind is MadeKind.Cancelled)
        {
            facts.Add(Fact.Of(LessonFact.Reason, Change.Lesson.CancelledBecause!.Value.ToString()));
        }

        if (Change.Waits)
        {
            facts.Add(Fact.Of(LessonFact.Waits, 1));
        }

        return facts;
    }

    /// <summary>The change as one line of a list.</summary>
    public Fact Line(string? part = null)
    {
        var facts = Facts();
        facts.Add(Fact.Of(ListWording.Done, Change.Kind.ToString()));
        if (part is not null)
        {
            facts.Add(Fact.Of(LessonFact.Part, part));
        }

        return new(ListWording.Change) { Parts = facts };
    }
}
