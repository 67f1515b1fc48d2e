using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Supervision;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Demo.Scale;

/// <summary>One lesson from its booking to its record, with its history, its letters and the times that it leaves.</summary>
internal sealed class ScaleLesson(ScalePupil pupil, DemoLearning learning, ScaleOffers offers)
{
    private static readonly Duration LateNotice = Duration.FromHours(20);
    private static readonly Duration EarlyNotice = Duration.FromHours(70);
    private static readonly Duration UntilRecorded = Duration.FromMinutes(10);
    private const int LongMinutes = 125;

    private static readonly DiaryRules Rules = new();
    private static readonly LocalTime Evening = new(20, 30);

    private readonly ScaleCalendar _calendar = pupil.Ground.Calendar;
    private readonly Dice _dice = pupil.Dice;

    /// <summary>What becomes of it; of a lesson ahead, as far as it has come.</summary>
    /// <param name="start">When it begins.</param>
    /// <param name="number">Which of the course, from 0.</param>
    public Lesson Live(LocalDateTime start, int number)
    {
        var (starts, fate) = (_calendar.At(start), _dice.Next(100));
        var booked = BookedAt(start);
        var moves = fate is >= 8 and < 16;
        // Before it was moved it stood in an evening on which nobody has lessons.
        var first = moves ? _calendar.At(start.Date.PlusDays(1 + (fate % 2)) + Evening) : starts;
        var by = _dice.Next(10) switch { < 7 => pupil.Viewer, < 9 => pupil.Ground.Staff.Office, _ => pupil.Teacher.Viewer };
        var (kind, minutes) = KindOf(start, number);
        var plan = LessonPlan.Of(minutes, Rules);
        var length = Duration.FromMinutes(plan.Elapsed);
        var place = pupil.Row.PickUp;
        var dropOff = (pupil.Course.Number % 10) switch { 3 => Larkfield.College, 7 => Larkfield.School, _ => place };
        var lesson = Lesson.Book(pupil.Row.Id, pupil.Teacher.Row.Id, pupil.Teacher.CarId, new(first, first + length), place, dropOff, booked, null, pupil.Ids.Next(booked), kind, plan.Breaks);
        Stood(lesson);
        Note(lesson, ChangeKind.Booked, booked, by, $"Booked for {School.Short(lesson.StartsAt)}, {lesson.Minutes} minutes.{(Rules.NameOf(kind) is { } name ? $" {name}." : "")}");
        var letters = new ScaleLetters(pupil, lesson, Rules.NameOf(kind));
        letters.Booked(by, booked);
        if (moves)
        {
            Move(lesson, letters, new(starts, starts + length), fate, booked);
        }
        else if (fate < 6)
        {
            Cancel(lesson, letters, fate, booked);
        }

        if (lesson.NotOpen("taught") is null && lesson.EndsAt + UntilRecorded < _calendar.Now)
        {
            End(lesson, fate);
        }

        letters.Close();
        return pupil.Rows.Add(lesson);
    }

    /// <summary>
    /// The first of some courses is an assessment, every tenth lesson a mock test; some of those with an hour and more free after them are longer
    /// than two hours, and so have a break.
    /// </summary>
    private (LessonKind Kind, int Minutes) KindOf(LocalDateTime start, int number) =>
        number == 0 && pupil.Course.Number % 4 == 1 ? (LessonKind.Assessment, pupil.Course.Minutes)
        : number % 10 == 7 ? (LessonKind.Mock, pupil.Course.Minutes)
        : pupil.Course.Number % 4 == 2 && start.TimeOfDay == (pupil.Course.Present ? ScaleCourses.BeforeNoonBreak : ScaleCourses.LastPast) ? (LessonKind.Intensive, LongMinutes)
        : (LessonKind.Standard, pupil.Course.Minutes);

    private SchoolFacts School => pupil.Ground.School;

    private Instant BookedAt(LocalDateTime start)
    {
        var evening = _calendar.At(start.Date.PlusDays(-5 - _dice.Next(9)), 17) + Duration.FromSeconds(_dice.Next(4 * 3600));
        return evening < _calendar.Now ? evening : _calendar.Now - Duration.FromMinutes(45) - Duration.FromSeconds(_dice.Next(20 * 24 * 3600));
    }

    private void Move(Lesson lesson, ScaleLetters letters, Interval to, int fate, Instant booked)
    {
        // Every fourth by the office inside the notice, for a pupil who called.
        var (late, soonest) = (fate % 4 == 0, booked + Duration.FromHours(1));
        var at = late ? Instant.Min(lesson.StartsAt, to.Start) - LateNotice : Instant.Min(lesson.StartsAt, to.Start) - EarlyNotice;
        at = Instant.Max(at, soonest) is var wanted && wanted < _calendar.Now ? wanted : booked + ((_calendar.Now - booked) * (_dice.Next(900) / 1000.0));
        var (by, from) = (late ? pupil.Ground.Staff.Office : pupil.Viewer, lesson.During);
        var charge = Decide(ChargeAct.Move, ChargeCause.Pupil, lesson, at);
        Done(lesson.Move(lesson.InstructorId, lesson.CarId, to, at, charge));
        lesson.Touch();
        pupil.Rows.Days.Changed(from, lesson.InstructorId, lesson.CarId);
        Stood(lesson);
        Free(lesson, from, at);
        var words = $"Moved from {School.Short(from.Start)} to {School.Short(lesson.StartsAt)}.";
        Note(lesson, ChangeKind.Moved, at, by, charge.Code is ChargeCode.LateMove ? $"{words} {charge.DoneToAnybody()}" : words);
        letters.Moved(from, by, at);
    }

    private void Cancel(Lesson lesson, ScaleLetters letters, int fate, Instant booked)
    {
        var at = lesson.StartsAt - (fate is 0 or 4 ? LateNotice : EarlyNotice);
        if (at <= booked || at >= _calendar.Now)
        {
            return;
        }

        var (reason, by) = fate switch
        {
            4 => (CancelReason.InstructorIll, pupil.Ground.Staff.Office),
            5 => (CancelReason.Weather, pupil.Teacher.Viewer),
            _ => (CancelReason.Pupil, pupil.Viewer),
        };
        var charge = Decide(ChargeAct.Cancel, reason.Cause(by), lesson, at);
        Done(lesson.Cancel(reason, charge, at));
        lesson.Touch();
        Changed(lesson);
        if (reason is CancelReason.Pupil)
        {
            Free(lesson, lesson.During, at);
        }

        Note(lesson, ChangeKind.Cancelled, at, by, $"Cancelled: {reason.Words()}. {Outcome(charge)}");
        letters.Cancelled(by, at);
    }

    /// <summary>Taught, or the pupil was not there. Of the lessons of the last two days some are still to be recorded.</summary>
    private void End(Lesson lesson, int fate)
    {
        var at = lesson.EndsAt + UntilRecorded;
        if (fate is 6 or 7)
        {
            var charge = LessonCharge.Decide(ChargeAct.Missed, ChargeCause.Pupil, lesson.StartsAt, at, pupil.Ground.Terms, waive: _dice.Percent(20));
            Done(lesson.Miss("Not at the pick-up; called twice.", charge, at));
            Note(lesson, ChangeKind.Missed, at, pupil.Teacher.Viewer, $"Missed. {Outcome(charge)}");
        }
        else if (fate is > 20 and < 30 && lesson.StartsAt > _calendar.Now - Duration.FromDays(2))
        {
            return;
        }
        else
        {
            new ScaleRecord(pupil, learning).Record(lesson, at, fate);
            Supervise(lesson, at);
        }

        lesson.Touch();
        Changed(lesson);
    }

    /// <summary>Somebody sat in on all of it: at most one lesson of a day begins then.</summary>
    private void Supervise(Lesson lesson, Instant at)
    {
        var start = lesson.StartsAt.InZone(_calendar.Zone).LocalDateTime;
        if (start.TimeOfDay != ScaleCourses.SupervisedStart(pupil.Course.Present) || !pupil.Ground.Staff.IsSupervised(pupil.Teacher, start.Date) || lesson.MinutesTaught is not { } minutes)
        {
            return;
        }

        var sponsor = pupil.Ground.Staff.Sponsor.Row;
        pupil.Rows.Add(new SupervisedDay
        {
            Id = pupil.Ids.Next(at),
            InstructorId = lesson.InstructorId,
            Date = start.Date,
            Minutes = minutes,
            ByName = sponsor.Name,
            ByNumber = sponsor.RegistrationNumber,
        });
    }

    private LessonCharge Decide(ChargeAct act, ChargeCause cause, Lesson lesson, Instant at) =>
        LessonCharge.Decide(act, cause, lesson.StartsAt, at, pupil.Ground.Terms);

    private static string Outcome(LessonCharge charge) => $"{(charge.Chargeable ? "To be charged" : "Not charged")}: {charge.DoneToAnybody()}";

    private void Free(Lesson lesson, Interval was, Instant at)
    {
        if (was.Start > at)
        {
            offers.Freed(pupil, pupil.Rows.Add(new FreedSlot
            {
                Id = pupil.Ids.Next(at),
                InstructorId = lesson.InstructorId,
                StartsAt = was.Start,
                EndsAt = was.End,
                FreedAt = at,
                FreedByPupilId = pupil.Row.Id,
                State = was.Start > _calendar.Now ? FreedState.Offering : FreedState.Over,
            }));
        }
    }

    private void Stood(Lesson lesson) => pupil.Rows.Days.Changed(lesson.During, lesson.InstructorId, lesson.CarId);

    /// <summary>A change of the row where it stands counts its day twice: as it was, and as it is.</summary>
    private void Changed(Lesson lesson)
    {
        Stood(lesson);
        Stood(lesson);
    }

    private void Note(Lesson lesson, ChangeKind kind, Instant at, Viewer by, string words) => pupil.Rows.Add(new LessonChange
    {
        Id = pupil.Ids.Next(at),
        LessonId = lesson.Id,
        Kind = kind,
        At = at,
        ByPersonId = by.PersonId,
        ByName = by.Name,
        Words = words,
        StartsAt = lesson.StartsAt,
        InstructorId = lesson.InstructorId,
    });

    private static void Done(Platform.Errors.Refusal? refusal)
    {
        if (refusal is not null)
        {
            throw new InvalidOperationException($"The lesson refused: {refusal.For(Viewer.Service)}");
        }
    }
}
