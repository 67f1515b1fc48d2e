using NodaTime;
using NodaTime.TimeZones;
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
/// Writes the messages about a lesson in the transaction of its change: to the pupil always, to the instructor when somebody
/// else did it. A reminder follows the lesson: each move withdraws the old one and writes a new one.
/// </summary>
internal sealed class LessonMail(
    Outbox outbox, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, SchoolInfo school, PublicUrl url, IClock clock)
{
    public const string Booked = "lesson_booked";
    public const string Moved = "lesson_moved";
    public const string Cancelled = "lesson_cancelled";
    public const string Reminder = "lesson_reminder";
    public const string Late = "lesson_late";

    /// <summary>What waits for the evening before a lesson and is wrong once the lesson changes.</summary>
    private static readonly string[] OfTheEve = [Reminder, LessonMessages.Brief];

    internal const string ToPupil = "pupil";
    internal const string ToInstructor = "instructor";
    internal const string ToFormer = "former_instructor";

    private static readonly LocalTime ReminderTime = new(17, 0);
    private static readonly Duration TooSoonAfterBooking = Duration.FromHours(3);

    public async Task BookedAsync(Lesson lesson, Viewer by, CancellationToken cancel)
    {
        var about = await AboutAsync(lesson, cancel);
        Send(about, Booked, ToPupil, LessonLetters.BookedForPupil(about), lesson.StartsAt);
        if (by.InstructorId != lesson.InstructorId)
        {
            Send(about, Booked, ToInstructor, LessonLetters.BookedForInstructor(about), lesson.StartsAt);
        }

        Remind(about);
    }

    public async Task MovedAsync(MovedLesson moved, Viewer by, CancellationToken cancel)
    {
        var (lesson, from, formerInstructorId) = moved;
        await outbox.WithdrawAsync(lesson.Id, OfTheEve, cancel);
        var about = await AboutAsync(lesson, cancel);
        Send(about, Moved, ToPupil, LessonLetters.MovedForPupil(about, from), lesson.StartsAt);
        if (by.InstructorId != lesson.InstructorId)
        {
            var letter = formerInstructorId == lesson.InstructorId ? LessonLetters.MovedForInstructor(about, from) : LessonLetters.BookedForInstructor(about);
            Send(about, Moved, ToInstructor, letter, lesson.StartsAt);
        }

        await SendToFormerAsync(about, Moved, formerInstructorId, former => LessonLetters.HandedOver(about, former, from), by, cancel);
        Remind(about);
    }

    /// <summary>With a sentence more for the pupil where there is more to say.</summary>
    public async Task CancelledAsync(Lesson lesson, Viewer by, CancellationToken cancel, string? also = null)
    {
        await outbox.WithdrawAsync(lesson.Id, OfTheEve, cancel);
        var about = await AboutAsync(lesson, cancel);
        var letter = LessonLetters.CancelledForPupil(about);
        Send(about, Cancelled, ToPupil, also is null ? letter : letter with { Closing = [also, .. letter.Closing] });
        if (by.InstructorId != lesson.InstructorId)
        {
            Send(about, Cancelled, ToInstructor, LessonLetters.CancelledForInstructor(about));
        }
    }

    /// <summary>Tells the pupil that the lesson starts late, or on time after all; each turn of telling once.</summary>
    public async Task LateAsync(Lesson lesson, Instant starts, int minutes, int turn, CancellationToken cancel)
    {
        var about = await AboutAsync(lesson, cancel);
        var letter = minutes > 0 ? LateLetters.Late(about, starts, minutes) : LateLetters.OnTime(about);
        Send(about, Late, ToPupil, letter, uselessAt: starts, turn: turn);
    }

    /// <summary>Five o'clock the evening before; none when the booking itself was only just before that.</summary>
    public void Remind(LetterFacts about)
    {
        var start = about.Lesson.StartsAt;
        var evening = start.InZone(about.School.Zone).Date.PlusDays(-1) + ReminderTime;
        // An hour that the clock skips is taken as much later; of one that comes twice the first.
        var due = about.School.Zone.ResolveLocal(evening, Resolvers.LenientResolver).ToInstant();
        if (due >= about.Now + TooSoonAfterBooking)
        {
            Send(about with { Now = due }, Reminder, ToPupil, LessonLetters.Reminder(about with { Now = due }), start, dueAt: due);
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
            await outbox.WithdrawAsync(about.Lesson.Id, OfTheEve, cancel);
        }
    }

    /// <summary>To the pupil always, to the instructor when somebody else did it.</summary>
    public void SendAbout(LetterFacts about, string kind, Letter forPupil, Letter forInstructor, Viewer by)
    {
        Send(about, kind, ToPupil, forPupil);
        if (by.InstructorId != about.Lesson.InstructorId)
        {
            Send(about, kind, ToInstructor, forInstructor);
        }
    }

    /// <summary>To the instructor who had it before, unless that is the same or did it.</summary>
    public async Task SendToFormerAsync(
        LetterFacts about, string kind, Guid formerInstructorId, Func<InstructorCard, Letter> letter, Viewer by, CancellationToken cancel)
    {
        if (formerInstructorId != about.Lesson.InstructorId && by.InstructorId != formerInstructorId
            && await instructors.FindAsync(formerInstructorId, cancel) is { } former)
        {
            Send(about, kind, ToFormer, letter(former), about.Lesson.StartsAt, former);
        }
    }

    private async Task<LetterFacts> AboutAsync(Lesson lesson, CancellationToken cancel)
    {
        var pupil = (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId];
        var instructor = (await instructors.FindAsync(lesson.InstructorId, cancel))!;
        var rules = await pictures.RulesAsync(cancel);
        return new(lesson, pupil, instructor, await school.GetAsync(cancel), url.Of("/"), rules.Charges(), clock.GetCurrentInstant());
    }

    /// <summary>Writes one; to nobody where there is no address.</summary>
    internal void Send(
        LetterFacts about, string kind, string to, Letter letter, Instant? uselessAt = null, InstructorCard? instructor = null, Instant? dueAt = null, int? turn = null)
    {
        var recipient = instructor ?? about.Instructor;
        var (name, address) = to == ToPupil ? (about.Pupil.Name, about.Pupil.Email) : (recipient.Name, recipient.Email);
        if (address.Length == 0)
        {
            return;
        }

        outbox.Write(new MessageDraft(
            $"{kind}:{about.Lesson.Id}:{about.Lesson.Sequence}:{to}{(turn is null ? "" : $":{turn}")}", about.Lesson.Id, kind, name, address, letter.Subject, letter.ToText(), letter.ToHtml())
        {
            DueAt = dueAt,
            UselessAt = uselessAt,
        });
    }
}
