using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>What somebody thinks of doing with a lesson.</summary>
/// <param name="Act">What.</param>
/// <param name="Reason">Why; without one the pupil's own.</param>
/// <param name="Start">Where it would be moved to. No terms look at it so far.</param>
/// <param name="Waive">The charge for a missed lesson would be let pass.</param>
internal sealed record ChargeQuestion(ChargeAct Act, CancelReason? Reason = null, Instant? Start = null, bool Waive = false);

/// <summary>A lesson and what doing something with it now would come to.</summary>
internal sealed record ChargeTold(Lesson Lesson, LessonCharge Charge)
{
    public bool Chargeable => Charge.Chargeable;

    /// <summary>What it comes to in money; null where none is kept, or nothing is charged.</summary>
    public ChargeAmount? Amount { get; init; }

    /// <summary>Whether the pupil pays for it, as far as is known.</summary>
    public bool Costs => Chargeable && Amount?.Asks != false;
}

/// <summary>Says what cancelling, moving or missing a lesson would come to now, before anybody does it. Refuses what could not be done.</summary>
internal sealed class TellCharge(SchoolDb db, CancelLesson cancelLesson, MoveLesson move, ChangeLessons changes, IClock clock)
{
    public async Task<Outcome<ChargeTold>> RunAsync(Viewer viewer, Guid id, ChargeQuestion question, CancellationToken cancel)
    {
        var reason = question.Reason ?? CancelReason.Pupil;
        var errors = new FieldErrors();
        if (question.Start is { } start)
        {
            errors.WrongStart(start, clock).When(question.Act is not ChargeAct.Move, nameof(question.Start), "Only a lesson that is moved has a new start.");
        }

        if ((errors.ToRefusal() ?? reason.NotYours(viewer)) is { } invalid)
        {
            return invalid;
        }

        var all = db.Set<Lesson>().AsNoTracking();
        var rows = question.Act == ChargeAct.Missed ? all.KeptBy(viewer) : all.VisibleTo(viewer);
        if (await rows.SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } lesson)
        {
            return Refusal.NotFound("lesson");
        }

        viewer = viewer.Towards(lesson.PupilId);
        if (reason.NotYours(viewer) is { } notTheirs)
        {
            return notTheirs;
        }

        var refusal = question.Act switch
        {
            ChargeAct.Cancel => cancelLesson.NotNow(viewer, lesson),
            ChargeAct.Move => await move.NotNowAsync(viewer, lesson, cancel),
            ChargeAct.Missed => lesson.NotMissed(),
        };
        if (refusal is not null)
        {
            return refusal;
        }

        var charge = await changes.DecideAsync(question.Act, reason.Cause(viewer), lesson, clock.GetCurrentInstant(), cancel, question.Waive);
        return new ChargeTold(lesson, charge) { Amount = charge.Chargeable ? await changes.AmountAsync(viewer, lesson, charge, cancel) : null };
    }
}
