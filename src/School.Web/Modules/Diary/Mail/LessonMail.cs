using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Mail;

/// <summary>
/// Writes the letters about a lesson in the transaction of its change: to the pupil always, to the instructor when somebody
/// else did it. A reminder follows the lesson: each move withdraws the old one and writes a new one.
/// </summary>
internal sealed class LessonMail(Outbox outbox, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, SchoolInfo school, IClock clock)
{
    public const string Booked = "lesson_booked";
    public const string Moved = "lesson_moved";
    public const string Cancelled = "lesson_cancelled";
    public const string Became = "lesson_became";
    public const string Reminder = "lesson_reminder";
    public const string Late = "lesson_late";

    /// <summary>What waits for its time before a lesson and is wrong once the lesson changes.</summary>
    private static readonly string[] Ahead = [Reminder, LessonMessages.Brief];

    public static readonly Act BookAnother = new(LessonFact.Book, "/diary/book");

    internal const string ToPupil = "pupil";
    internal const string ToInstructor = "instructor";
    internal const string ToFormer = "former_instructor";

    /// <summary>A reminder goes so long before the lesson can be moved or cancelled free of charge for the last time.</summary>
    private static readonly Duration BeforeFreeUntil = Duration.FromHours(24);

    /// <summary>That a lesson is about to begin is told so long, also where it should have begun already.</summary>
    private static readonly Duration NewsFor = Duration.FromMinutes(10);

    private static readonly Duration TooSoonAfterBooking = Duration.FromHours(3);

    public async Task BookedAsync(Lesson lesson, Viewer by, CancellationToken cancel)
    {
        var about = await AboutAsync(lesson, cancel);
        await TellAsync(about, Booked, about.With(), [], by, lesson.StartsAt, cancel);
        await RemindAsync(about, cancel);
    }

    public async Task MovedAsync(MovedLesson moved, Viewer by, CancellationToken cancel)
    {
        var (lesson, from, formerInstructorId) = moved;
        await outbox.WithdrawAsync(lesson.Id, Ahead, cancel);
        var about = await AboutAsync(lesson, cancel);
        var facts = about.With([Fact.Of(LessonFact.Before, from), .. about.Charge()]);
        Fact[] part = formerInstructorId == lesson.InstructorId ? [] : [Fact.Of(LessonFact.Part, LessonFact.New)];
        await TellAsync(about, Moved, facts, part, by, lesson.StartsAt, cancel);
        await TellFormerAsync(about, Moved, formerInstructorId, facts, by, cancel);
        await RemindAsync(about, cancel);
    }

    /// <summary>It is another kind of lesson now, or longer or shorter.</summary>
    public async Task BecameAsync(Lesson lesson, LessonKind former, Interval was, Viewer by, CancellationToken cancel)
    {
        await outbox.WithdrawAsync(lesson.Id, Ahead, cancel);
        var about = await AboutAsync(lesson, cancel);
        var rules = await pictures.RulesAsync(cancel);
        var facts = about.With(
            Fact.Of(LessonFact.Before, was), Fact.Of(LessonFact.FormerKind, rules.KindOf(former).Name), Fact.Of(LessonFact.NewKind, rules.KindOf(lesson.Kind).Name));
        await TellAsync(about, Became, facts, [], by, lesson.StartsAt, cancel);
        await RemindAsync(about, cancel);
    }

    /// <summary>Also says, where it is so, that the pupil stands on the waiting list now.</summary>
    public async Task CancelledAsync(Lesson lesson, Viewer by, CancellationToken cancel, bool waits = false)
    {
        await outbox.WithdrawAsync(lesson.Id, Ahead, cancel);
        var about = await AboutAsync(lesson, cancel);
        List<Fact> facts = about.With([Fact.Of(LessonFact.Reason, lesson.CancelledBecause!.Value.ToString()), .. about.Charge()]);
        if (waits)
        {
            facts.Add(Fact.Of(LessonFact.Waits, 1));
        }

        await TellAsync(about, Cancelled, facts, [], by, uselessAt: null, cancel, BookAnother);
    }

    /// <summary>Tells the pupil that the lesson starts late, or on time after all; each turn of telling once.</summary>
    public async Task LateAsync(Lesson lesson, Instant starts, int minutes, int turn, CancellationToken cancel)
    {
        var about = await AboutAsync(lesson, cancel);
        var facts = minutes > 0 ? about.With(Fact.Of(LessonFact.LateMinutes, minutes), Fact.Of(LessonFact.Starts, starts)) : about.With();
        await outbox.WriteAsync(
            new(Late, $"{KeyOf(about, Late, ToPupil)}:{turn}", lesson.Id, Receiver.Pupil(lesson.PupilId), facts) { Acts = [about.Open], UselessAt = Instant.Max(starts, about.Now + NewsFor) }, cancel);
    }

    /// <summary>When a pupil is reminded: in time to back out free of charge, and not at night.</summary>
    public static Instant ReminderAt(Instant start, ChargeTerms terms, DateTimeZone zone) =>
        WakingHours.Reminders.Nearest(terms.FreeUntil(start) - BeforeFreeUntil, zone);

    /// <summary>Whether a lesson that came to stand as it does at a moment has a reminder: none where that itself was only just before.</summary>
    public static bool Reminds(Instant start, Instant settled, ChargeTerms terms, DateTimeZone zone) => ReminderAt(start, terms, zone) >= settled + TooSoonAfterBooking;

    public async Task RemindAsync(LetterFacts about, CancellationToken cancel)
    {
        var start = about.Lesson.StartsAt;
        if (Reminds(start, about.Now, about.Charges, about.School.Zone))
        {
            await outbox.WriteAsync(
                new(Reminder, KeyOf(about, Reminder, ToPupil), about.Lesson.Id, Receiver.Pupil(about.Pupil.Id), about.With())
                {
                    Acts = [about.Open],
                    DueAt = ReminderAt(start, about.Charges, about.School.Zone),
                    // Later it would tell of a choice that is gone.
                    UselessAt = about.Charges.FreeUntil(start),
                },
                cancel);
        }
    }

    /// <summary>The facts of several lessons, in their order.</summary>
    public async Task<List<LetterFacts>> AboutAllAsync(IReadOnlyList<Lesson> lessons, CancellationToken cancel)
    {
        var all = new List<LetterFacts>();
        foreach (var lesson in lessons)
        {
            all.Add(await AboutAsync(lesson, cancel));
        }

        return all;
    }

    public async Task WithdrawRemindersAsync(IEnumerable<LetterFacts> all, CancellationToken cancel)
    {
        foreach (var about in all)
        {
            await outbox.WithdrawAsync(about.Lesson.Id, Ahead, cancel);
        }
    }

    /// <summary>Writes one about a lesson, kept apart from others of its kind by to whom it goes.</summary>
    public Task WriteAsync(
        LetterFacts about, string kind, string to, Receiver receiver, IReadOnlyList<Fact> facts, CancellationToken cancel, Act? act = null, Instant? uselessAt = null) =>
        outbox.WriteAsync(
            new(kind, KeyOf(about, kind, to), about.Lesson.Id, receiver, facts) { Acts = [act ?? about.Open], UselessAt = uselessAt }, cancel);

    /// <summary>To the pupil always, to the instructor when somebody else did it.</summary>
    private async Task TellAsync(
        LetterFacts about, string kind, IReadOnlyList<Fact> facts, IReadOnlyList<Fact> forInstructor, Viewer by, Instant? uselessAt, CancellationToken cancel,
        Act? forPupil = null)
    {
        var lesson = about.Lesson;
        await WriteAsync(about, kind, ToPupil, Receiver.Pupil(lesson.PupilId), facts, cancel, forPupil, uselessAt);
        if (by.InstructorId != lesson.InstructorId)
        {
            await WriteAsync(about, kind, ToInstructor, Receiver.Instructor(lesson.InstructorId), [.. facts, .. forInstructor], cancel, null, uselessAt);
        }
    }

    /// <summary>To the instructor who had it before, unless that is the same or did it.</summary>
    private async Task TellFormerAsync(LetterFacts about, string kind, Guid formerInstructorId, IReadOnlyList<Fact> facts, Viewer by, CancellationToken cancel)
    {
        if (formerInstructorId != about.Lesson.InstructorId && by.InstructorId != formerInstructorId)
        {
            await WriteAsync(
                about, kind, ToFormer, Receiver.Instructor(formerInstructorId), [.. facts, Fact.Of(LessonFact.Part, LessonFact.Former)], cancel, null, about.Lesson.StartsAt);
        }
    }

    private static string KeyOf(LetterFacts about, string kind, string to) => $"{kind}:{about.Lesson.Id}:{about.Lesson.Sequence}:{to}";

    private async Task<LetterFacts> AboutAsync(Lesson lesson, CancellationToken cancel)
    {
        var pupil = (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId];
        var instructor = (await instructors.FindAsync(lesson.InstructorId, cancel))!;
        var rules = await pictures.RulesAsync(cancel);
        return new(lesson, pupil, instructor, await school.GetAsync(cancel), rules.Charges(), clock.GetCurrentInstant()) { KindName = rules.NameOf(lesson.Kind) };
    }
}
