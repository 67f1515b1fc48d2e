using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Where a lesson goes: who gives it, in which car, when.</summary>
internal sealed record LessonPlace(Guid InstructorId, Guid CarId, Interval During)
{
    /// <summary>Its rests from now on; null where they stay as they are in it.</summary>
    public IReadOnlyList<LessonBreak>? Breaks { get; init; }
}

/// <summary>What a move is part of, for its history.</summary>
internal enum MovedFor
{
    /// <summary>It was asked for by itself.</summary>
    Itself,

    /// <summary>Somebody takes lessons over.</summary>
    Cover,

    /// <summary>A better order of the day.</summary>
    Order,

    /// <summary>The giving out of cars.</summary>
    Cars,

    /// <summary>It changes places with the lesson of another pupil.</summary>
    Swap,

    /// <summary>The pupil goes to another instructor for good.</summary>
    HandOver,
}

/// <summary>
/// The one way in which a lesson is moved, cancelled or written down as missed: the row, its charge, its history, the time that comes
/// free and whoever follows the charges, all together. In the caller's transaction and under its locks: the charge is decided from
/// the row and the clock as they are then. What was told beforehand is handed in and must still be true. The caller sends the
/// letters with what this answers, since one letter may tell several changes.
/// </summary>
internal sealed class ChangeLessons(
    LessonHistory history, FreedSlots freed, PictureLoader pictures, IEnumerable<ILessonCharges> followers, InstructorBook instructors, CarPark cars, SchoolInfo school,
    IClock clock)
{
    /// <summary>
    /// Moves a booked lesson; where to was checked by the caller. Answers how it was before; one that is there already stays untouched. Where it was said
    /// whether the pupil was asked, they must have been if backing out costs them more from then on.
    /// Where it does not offer, nobody on the waiting list hears of the time that comes free.
    /// </summary>
    public async Task<Outcome<MovedLesson>> MoveAsync(
        Viewer viewer, Lesson lesson, LessonPlace to, ChargeCause cause, CancellationToken cancel, MovedFor movedFor = MovedFor.Itself, ChargeCode? told = null, bool? asked = null,
        bool offers = true)
    {
        var (from, former, now, was) = (lesson.During, lesson.InstructorId, clock.GetCurrentInstant(), Was(lesson));
        if (lesson.NotOpen("moved") is { } closed)
        {
            return closed;
        }

        var charge = await DecideAsync(ChargeAct.Move, cause, lesson, now, cancel);
        if (told is { } code && code != charge.Code)
        {
            return charge.Changed(viewer);
        }

        if ((to with { Breaks = null }) == new LessonPlace(former, lesson.CarId, from))
        {
            return new MovedLesson(lesson, from, former);
        }

        var dearer = asked is not null && (await pictures.RulesAsync(cancel)).Charges().MakesDearer(from.Start, lesson.Minutes, to.During.Start, lesson.Minutes, now);
        if (dearer && asked == false)
        {
            return AskFirst.Nearer;
        }

        if (lesson.Move(to.InstructorId, to.CarId, to.During, now, charge, to.Breaks) is { } refusal)
        {
            return refusal;
        }

        if (offers && (from != lesson.During || former != lesson.InstructorId))
        {
            freed.Note(lesson.PupilId, former, from, cause);
        }

        await TellAsync(lesson, was, charge, viewer, cancel);
        var words = await WordsAsync(lesson, from, former, movedFor, cancel) + (dearer ? AskFirst.Agreed : "");
        history.Note(lesson, ChangeKind.Moved, charge.Code is ChargeCode.LateMove && !lesson.AsksNothing() ? $"{words} {charge.DoneToAnybody()}" : words, viewer);
        return new MovedLesson(lesson, from, former);
    }

    /// <summary>
    /// Makes a booked lesson another kind at its own time; that it may be was checked by the caller. Answers whether anything is different.
    /// No charge is decided, but where backing out costs the pupil more from now on, they are asked first.
    /// </summary>
    public async Task<Outcome<bool>> BecomeAsync(Viewer viewer, Lesson lesson, LessonKind kind, LessonPlace to, bool asked, CancellationToken cancel)
    {
        var rules = await pictures.RulesAsync(cancel);
        var (was, had, took, breaks) = (rules.KindOf(lesson.Kind).Name, lesson.Minutes, lesson.During, to.Breaks ?? []);
        if (lesson.NotOpen("made another kind") is { } closed)
        {
            return closed;
        }

        if (lesson.Kind == kind && lesson.EndsAt == to.During.End && lesson.CarId == to.CarId && lesson.Breaks.SequenceEqual(breaks))
        {
            return false;
        }

        var now = clock.GetCurrentInstant();
        var minutes = (int)to.During.Duration.TotalMinutes - breaks.Sum(rest => rest.Minutes);
        var dearer = rules.Charges().MakesDearer(took.Start, had, to.During.Start, minutes, now);
        if (dearer && !asked)
        {
            return AskFirst.Longer;
        }

        var car = lesson.CarId == to.CarId ? "" : ", in another car";
        if (lesson.Become(kind, to.CarId, to.During.End, breaks, now) is { } refusal)
        {
            return refusal;
        }

        await freed.NoteRestAsync(lesson.PupilId, lesson.InstructorId, took, lesson.During, cancel);
        history.Note(lesson, ChangeKind.BecameAnother, $"Changed from {was}, {had} minutes, to {rules.KindOf(kind).Name}, {lesson.Minutes} minutes{car}.{(dearer ? AskFirst.Agreed : "")}", viewer);
        return true;
    }

    /// <summary>Cancels a booked lesson; also says more for its history. Where it does not offer, nobody on the waiting list hears of the time.</summary>
    public async Task<Outcome<Lesson>> CancelAsync(
        Viewer viewer, Lesson lesson, CancelReason reason, CancellationToken cancel, ChargeCode? told = null, string also = "", bool offers = true)
    {
        var now = clock.GetCurrentInstant();
        if (lesson.NotOpen("cancelled") is { } closed)
        {
            return closed;
        }

        var (cause, was) = (reason.Cause(viewer), Was(lesson));
        var charge = await DecideAsync(ChargeAct.Cancel, cause, lesson, now, cancel);
        if (told is { } code && code != charge.Code)
        {
            return charge.Changed(viewer);
        }

        if (lesson.Cancel(reason, charge, now) is { } refusal)
        {
            return refusal;
        }

        if (offers)
        {
            freed.Note(lesson.PupilId, lesson.InstructorId, lesson.During, cause);
        }

        await TellAsync(lesson, was, charge, viewer, cancel);
        history.Note(lesson, ChangeKind.Cancelled, $"Cancelled: {reason.Words()}{also}. {Outcome(lesson, charge)}", viewer);
        return lesson;
    }

    /// <summary>Writes down that the pupil was not there.</summary>
    public async Task<Outcome<Lesson>> MissAsync(Viewer viewer, Lesson lesson, string note, bool waive, CancellationToken cancel, ChargeCode? told = null)
    {
        var (now, was) = (clock.GetCurrentInstant(), Was(lesson));
        var charge = await DecideAsync(ChargeAct.Missed, ChargeCause.Pupil, lesson, now, cancel, waive);
        if (told is { } code && code != charge.Code)
        {
            return charge.Changed(viewer);
        }

        if (lesson.Miss(note, charge, now) is { } refusal)
        {
            return refusal;
        }

        await TellAsync(lesson, was, charge, viewer, cancel);
        history.Note(lesson, ChangeKind.Missed, $"Missed. {Outcome(lesson, charge)}", viewer);
        return lesson;
    }

    /// <summary>A lesson that was to be taught has been, whatever was written down before.</summary>
    public async Task TakeBackAsync(Viewer viewer, Lesson lesson, CancellationToken cancel)
    {
        foreach (var follower in followers)
        {
            await follower.TakenBackAsync(lesson.Id, viewer, cancel);
        }
    }

    /// <summary>A lesson is written down as taught.</summary>
    public async Task TaughtAsync(Viewer viewer, Lesson lesson, CancellationToken cancel)
    {
        foreach (var follower in followers)
        {
            await follower.TaughtAsync(ToCharge(lesson) with { Minutes = lesson.MinutesTaught!.Value }, viewer, cancel);
        }
    }

    /// <summary>What a charge would come to in money; null where none is kept.</summary>
    public async Task<ChargeAmount?> AmountAsync(Viewer viewer, Lesson lesson, LessonCharge charge, CancellationToken cancel)
    {
        foreach (var follower in followers)
        {
            if (await follower.AmountAsync(await DecidedAsync(Was(lesson), charge, cancel), viewer, cancel) is { } amount)
            {
                return amount;
            }
        }

        return null;
    }

    /// <summary>What it would come to now.</summary>
    public async Task<LessonCharge> DecideAsync(ChargeAct act, ChargeCause cause, Lesson lesson, Instant at, CancellationToken cancel, bool waive = false) =>
        LessonCharge.Decide(act, cause, lesson.StartsAt, at, (await pictures.RulesAsync(cancel)).Charges(), waive);

    // As it is before it is changed.
    private static Before Was(Lesson lesson) => new(ToCharge(lesson), lesson.RemindedAt, lesson.ChangedAt);

    private sealed record Before(LessonToCharge Lesson, Instant? RemindedAt, Instant SettledAt);

    private async Task<DecidedCharge> DecidedAsync(Before was, LessonCharge charge, CancellationToken cancel)
    {
        var terms = new ChargeTerms((int)charge.Notice.TotalHours);
        var warned = was.RemindedAt <= charge.FreeUntil || !LessonMail.Reminds(was.Lesson.StartsAt, was.SettledAt, terms, (await school.GetAsync(cancel)).Zone);
        return new(was.Lesson, charge, warned);
    }

    private static LessonToCharge ToCharge(Lesson lesson) =>
        new(lesson.Id, lesson.PupilId, lesson.InstructorId, lesson.CarId, lesson.Kind, lesson.StartsAt, lesson.Minutes, lesson.BookedAt);

    private async Task TellAsync(Lesson lesson, Before was, LessonCharge charge, Viewer viewer, CancellationToken cancel)
    {
        foreach (var follower in followers)
        {
            if (await follower.DecidedAsync(await DecidedAsync(was, charge, cancel), viewer, cancel) == false)
            {
                lesson.AskNothing();
            }
        }
    }

    private static string Outcome(Lesson lesson, LessonCharge charge) =>
        $"{(!charge.Chargeable ? "Not charged" : lesson.AsksNothing() ? "Late, and nothing is asked" : "To be charged")}: {charge.DoneToAnybody()}";

    private async Task<string> WordsAsync(Lesson lesson, Interval from, Guid former, MovedFor movedFor, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var time = lesson.StartsAt == from.Start ? null : $"from {facts.Short(from.Start)} to {facts.Short(lesson.StartsAt)}";
        var names = lesson.InstructorId == former ? null : await instructors.NamesAsync(cancel);
        var who = names?[lesson.InstructorId];
        return movedFor switch
        {
            MovedFor.Itself => $"Moved from {facts.Short(from.Start)} to {facts.Short(lesson.StartsAt)}{(who is null ? "" : $", now with {who}")}.",
            MovedFor.Order => $"Moved {time} for a better order of the day.",
            MovedFor.Swap => $"Swap, agreed with the pupil: {(time is null ? "" : $"moved {time}{(who is null ? "" : ", ")}")}{(who is null ? "" : $"now with {who}")}.",
            MovedFor.Cars => $"Now in the {await LabelAsync()}.",
            MovedFor.HandOver => $"Handed over for good: now with {who} in place of {names![former]}.",
            MovedFor.Cover when who is null => time is null ? "Cover: now in another car." : $"Cover: moved {time}.",
            MovedFor.Cover => $"Cover: {(time is null ? "" : $"moved {time}, ")}now with {who} in place of {names![former]}.",
        };

        async Task<string> LabelAsync() =>
            (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars.First(car => car.Id == lesson.CarId).Label;
    }
}
