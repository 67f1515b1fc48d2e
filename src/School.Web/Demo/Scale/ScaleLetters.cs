using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Demo.Scale;

/// <summary>The letters about one lesson: to the pupil always, to the instructor where somebody else did it, a reminder the evening before.</summary>
internal sealed class ScaleLetters(ScalePupil pupil, Lesson lesson, string? kindName)
{
    private static readonly Duration TooSoonAfterBooking = Duration.FromHours(3);

    private (Letter Letter, Instant At)? _reminder;

    public void Booked(Viewer by, Instant at)
    {
        var about = About(at);
        Tell(LessonMail.Booked, about.With(), by, at, lesson.StartsAt);
        Remind(about);
    }

    public void Moved(Interval from, Viewer by, Instant at)
    {
        Withdraw(at);
        var about = About(at);
        Tell(LessonMail.Moved, about.With([Fact.Of(LessonFact.Before, from), .. about.Charge()]), by, at, lesson.StartsAt);
        Remind(about);
    }

    public void Cancelled(Viewer by, Instant at)
    {
        Withdraw(at);
        var about = About(at);
        Tell(LessonMail.Cancelled, about.With([Fact.Of(LessonFact.Reason, lesson.CancelledBecause!.Value.ToString()), .. about.Charge()]), by, at, null, LessonMail.BookAnother);
    }

    /// <summary>Writes the reminder that nothing withdrew.</summary>
    public void Close() => Withdraw(null);

    private LetterFacts About(Instant at) => new(lesson, pupil.Card, pupil.Teacher.Card, pupil.Ground.School, pupil.Ground.Terms, at) { KindName = kindName };

    private void Tell(string kind, IReadOnlyList<Fact> facts, Viewer by, Instant at, Instant? uselessAt, Act? forPupil = null)
    {
        var open = new Act(LessonFact.Open, LessonLinks.Of(lesson.Id));
        Write(new(kind, KeyOf(kind, LessonMail.ToPupil), lesson.Id, pupil.Receiver, facts) { Acts = [forPupil ?? open], UselessAt = uselessAt }, pupil.Address, at);
        if (by.InstructorId != lesson.InstructorId)
        {
            var teacher = pupil.Teacher.Row;
            Write(
                new(kind, KeyOf(kind, LessonMail.ToInstructor), lesson.Id, Receiver.Instructor(teacher.Id), facts) { Acts = [open], UselessAt = uselessAt },
                new(teacher.Name, teacher.Email), at);
        }
    }

    private void Remind(LetterFacts about)
    {
        var calendar = pupil.Ground.Calendar;
        var due = LessonMail.ReminderAt(lesson.StartsAt, pupil.Ground.Terms, calendar.Zone);
        if (due >= about.Now + TooSoonAfterBooking)
        {
            _reminder = (
                new(LessonMail.Reminder, KeyOf(LessonMail.Reminder, LessonMail.ToPupil), lesson.Id, pupil.Receiver, about.With()) { Acts = [about.Open], DueAt = due, UselessAt = pupil.Ground.Terms.FreeUntil(lesson.StartsAt) },
                about.Now);
        }
    }

    private void Withdraw(Instant? at)
    {
        if (_reminder is { } waits)
        {
            Write(waits.Letter, pupil.Address, waits.At, at);
            _reminder = null;
        }
    }

    private void Write(Letter letter, Addressee to, Instant at, Instant? withdrawnAt = null) =>
        ScalePeople.Write(pupil.Rows, pupil.Ids, letter, to, at, pupil.Ground.Calendar.Now, withdrawnAt);

    private string KeyOf(string kind, string to) => $"{kind}:{lesson.Id}:{lesson.Sequence}:{to}";
}
