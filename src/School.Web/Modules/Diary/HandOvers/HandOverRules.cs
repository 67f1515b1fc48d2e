using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.HandOvers;

/// <summary>What a hand-over tells beside its lines.</summary>
/// <param name="FormerInstructorId">With whom the pupil usually learned.</param>
/// <param name="Before">Each lesson as it was booked.</param>
/// <param name="Tests">Tests ahead that somebody else goes along to: they stay as they are.</param>
internal sealed record HandOverMore(Guid? FormerInstructorId, IReadOnlyList<HandOverBefore> Before, IReadOnlyList<HandOverTest> Tests);

/// <summary>A lesson as it was booked.</summary>
internal sealed record HandOverBefore(Guid LessonId, Guid InstructorId, Guid CarId, Instant Start, Instant End);

/// <summary>A test ahead: who goes along in which car, where the school does.</summary>
internal sealed record HandOverTest(Guid TestDayId, Instant Start, Guid? InstructorId, Guid? CarId);

/// <summary>
/// A pupil handed over for good: the usual instructor, by which the new one sees them, is one line (its id is the pupil's); each coming lesson is
/// another, kept at its time with the new instructor and one of their cars where all rules allow it, else left with the reason. Free of charge.
/// </summary>
internal sealed class HandOverRules(
    SchoolDb db, ReadOnce once, MoveLesson move, DiaryVersions versions, PupilBook pupils, UsualInstructorOf usual, InstructorBook instructors, CarPark cars, LessonLocks locks,
    Audit audit, SchoolInfo school, IClock clock) : ProposalRules
{
    private const CancelReason Because = CancelReason.Other;

    private static readonly Refusal OnlyLooking = Refusal.Rule("preview", "Nothing was handed over.");

    public override ProposalKind Kind => ProposalKind.HandOver;

    public static HandOverAsk AskOf(Proposal proposal) => ProposalJson.Read<HandOverAsk>(proposal.Ask);

    public static HandOverMore MoreOf(Proposal proposal) => ProposalJson.Read<HandOverMore>(proposal.More!);

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var part = await PartAsync(ask, await LessonsAsync(ask, cancel), cancel);
        var seen = await versions.MarkAsync(part, cancel);
        var lessons = await LessonsAsync(ask, cancel);
        var pupil = (await pupils.CardsAsync([ask.PupilId], cancel))[ask.PupilId];
        if (await GoneAsync(ask, cancel) is { } gone)
        {
            return gone;
        }

        if (lessons.Count == 0 && pupil.UsualInstructorId == ask.InstructorId)
        {
            return Refusal.Rule("already_theirs", "This pupil usually learns with them already, and no coming lesson is with anybody else.");
        }

        var now = clock.GetCurrentInstant();
        var tests = await db.Set<TestDay>().AsNoTracking()
            .Where(t => t.PupilId == ask.PupilId && t.State == TestDayState.Booked && t.StartsAt > now && t.InstructorId != ask.InstructorId).OrderBy(t => t.StartsAt).ToListAsync(cancel);
        return new Found(new(
            [Usual(ask), .. await TryAsync(viewer, ask, lessons, cancel)], part, seen,
            new HandOverMore(
                pupil.UsualInstructorId, [.. lessons.Select(l => new HandOverBefore(l.Id, l.InstructorId, l.CarId, l.StartsAt, l.EndsAt))],
                [.. tests.Select(t => new HandOverTest(t.Id, t.StartsAt, t.InstructorId, t.CarId))])));
    }

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel)
    {
        var (ask, zone) = (AskOf(proposal), (await school.GetAsync(cancel)).Zone);
        var ids = lines.SelectMany(line => line.LessonIds).ToArray();
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
        var days = lessons.SelectMany(l => new[] { l.InstructorId, ask.InstructorId }.Select(who => new DiaryDay(who, l.StartsAt.InZone(zone).Date)));
        // Booking and moving lock the pupil first, so no lesson comes or goes meanwhile.
        await locks.TakeAsync([ask.PupilId], [.. days.Distinct()], lessons.Select(l => l.CarId).Distinct(), cancel, others);
    }

    public override async Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var (ask, facts, now) = (AskOf(proposal), await school.GetAsync(cancel), clock.GetCurrentInstant());
        var known = MoreOf(proposal).Before.ToDictionary(one => one.LessonId);
        var standing = await LessonsAsync(ask, cancel);
        // A lesson that was booked, moved or called off since, or that has begun.
        if (standing.Count != known.Values.Count(one => one.Start > now) || standing.Any(l => !known.TryGetValue(l.Id, out var one) || one.Start != l.StartsAt || one.InstructorId != l.InstructorId)
            || lines.Any(line => line.Act is ProposalAct.Move && line.Start <= now))
        {
            return ApplyProposal.Stale;
        }

        if (lines.All(line => line.Id != ask.PupilId))
        {
            return Refusal.Invalid("lines", "The line of the pupil makes the new instructor the usual one and goes with every hand-over. Name it too.");
        }

        if (await GoneAsync(ask, cancel) is { } gone)
        {
            return gone;
        }

        var wanted = lines.Where(line => line.Act is ProposalAct.Move && line.LessonId is not null).Select(line => line.Id).ToHashSet();
        await usual.BecomesAsync(viewer, ask.PupilId, ask.InstructorId, cancel);
        var lessons = await db.Set<Lesson>().Where(l => wanted.Contains(l.Id)).OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
        foreach (var lesson in lessons)
        {
            if (await MoveAsync(viewer, ask, lesson, made, cancel) is { } refusal)
            {
                return refusal with { Telling = refusal.Telling.Map(why => $"Nothing was done. {facts.Moment(lesson.StartsAt)}: {why}") };
            }
        }

        proposal.KeepCarriedOut([.. lines]);
        made.HandedOver = new(
            proposal.Id, ask.PupilId, ask.InstructorId, MoreOf(proposal).FormerInstructorId, ask.From,
            [.. standing.Where(l => !wanted.Contains(l.Id)).Select(l => (l.During, l.InstructorId))]);
        audit.Note(viewer, "pupil.hand_over", ask.PupilId, $"Handed over for good: {Words.Count(lessons.Count, "lesson")} went to the new instructor, {known.Count - lessons.Count} stayed as booked.");
        return null;
    }

    /// <summary>Either has left since it was asked for.</summary>
    private async Task<Refusal?> GoneAsync(HandOverAsk ask, CancellationToken cancel) =>
        (await pupils.CardsAsync([ask.PupilId], cancel))[ask.PupilId].RetiredOn is not null ? PupilRefusals.Left
        : await instructors.FindAsync(ask.InstructorId, cancel) is not { RetiredOn: null } ? Refusal.Rule("instructor_left", "This instructor teaches here no more. Hand over to somebody who does.")
        : null;

    private static ProposalLine Usual(HandOverAsk ask) => new(ask.PupilId, ProposalAct.Move, [], ask.InstructorId, null, null, null, []);

    private async Task<Refusal?> MoveAsync(Viewer viewer, HandOverAsk ask, Lesson lesson, ChangesMade made, CancellationToken cancel)
    {
        var pupil = (await pupils.CardsAsync([ask.PupilId], cancel))[ask.PupilId];
        if (await instructors.FindAsync(ask.InstructorId, cancel) is not { RetiredOn: null } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        var moved = await move.ApplyAsync(viewer, lesson, pupil, instructor, lesson.StartsAt, Because.Cause(viewer), cancel, movedFor: MovedFor.HandOver);
        if (!moved.Ok)
        {
            return moved.Refusal;
        }

        made.Moved(moved.Value);
        // The next one is checked against a diary that holds this one.
        await db.SaveChangesAsync(cancel);
        return null;
    }

    /// <summary>Does it all in a transaction that is undone, so that what is told beforehand cannot differ from what happens.</summary>
    private async Task<IReadOnlyList<ProposalLine>> TryAsync(Viewer viewer, HandOverAsk ask, List<Lesson> lessons, CancellationToken cancel)
    {
        var lines = new List<ProposalLine>();
        _ = await db.InTransactionAsync<HandOverAsk>(
            async cancel =>
            {
                lines.Clear();
                foreach (var known in lessons)
                {
                    once.Forget();
                    var lesson = await db.Set<Lesson>().SingleAsync(l => l.Id == known.Id, cancel);
                    var why = await MoveAsync(viewer, ask, lesson, new(), cancel);
                    lines.Add(why is null
                        ? new(known.Id, ProposalAct.Move, [known.Id], ask.InstructorId, lesson.CarId, known.StartsAt, lesson.Charge is { } charge ? ProposalCharge.Of(charge) : null, [])
                        : new(known.Id, ProposalAct.None, [known.Id], known.InstructorId, known.CarId, known.StartsAt, null, [new(ask.InstructorId, why.Code, why.For(viewer))]));
                }

                return OnlyLooking;
            },
            cancel);
        once.Forget();
        return lines;
    }

    /// <summary>The coming lessons with anybody else.</summary>
    private async Task<List<Lesson>> LessonsAsync(HandOverAsk ask, CancellationToken cancel)
    {
        var from = Instant.Max((await school.GetAsync(cancel)).Zone.AtStartOfDay(ask.From).ToInstant(), clock.GetCurrentInstant());
        return await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.PupilId == ask.PupilId && l.State == LessonState.Booked && l.StartsAt > from && l.InstructorId != ask.InstructorId)
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
    }

    /// <summary>The days of the lessons, of both instructors and the cars that they hold, and all about the pupil.</summary>
    private async Task<DiaryPart> PartAsync(HandOverAsk ask, List<Lesson> lessons, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var who = lessons.Select(l => l.InstructorId).Append(ask.InstructorId).ToHashSet();
        var held = (await cars.ReadAsync(zone, alsoRetired: false, cancel)).Holds.Where(hold => who.Contains(hold.InstructorId)).Select(hold => hold.CarId);
        return new([.. lessons.Select(l => l.StartsAt.InZone(zone).Date).Distinct()], [.. who.Concat(held).Concat(lessons.Select(l => l.CarId)).Distinct().Order()])
        {
            Pupils = [ask.PupilId],
        };
    }
}
