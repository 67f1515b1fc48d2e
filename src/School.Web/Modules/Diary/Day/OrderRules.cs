using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>What a proposal of a better order tells beside its lines.</summary>
/// <param name="ToAsk">Lessons whose new time is not among the times that their pupil gave.</param>
/// <param name="MovableLessons">How many might move.</param>
/// <param name="DrivingMinutesBefore">Of the day as it stands, without drives from or to a place that is still to be found.</param>
/// <param name="DrivingMinutesAfter">Of the day in the better order; the same where nothing is better.</param>
/// <param name="Proved">Whether every order was looked at.</param>
internal sealed record OrderMore(IReadOnlyList<Guid> ToAsk, int MovableLessons, int DrivingMinutesBefore, int DrivingMinutesAfter, bool Proved = true);

/// <summary>A better order of a day as a proposal: its lessons are moved by the school, each free of charge.</summary>
internal sealed class OrderRules(
    SchoolDb db, FindOrder order, DiaryVersions versions, ChangeLessons changes, LessonLocks locks, PictureLoader pictures, PupilBook pupils, SchoolInfo school)
    : ProposalRules
{
    public override ProposalKind Kind => ProposalKind.BetterOrder;

    public static OrderQuestion AskOf(Proposal proposal) => ProposalJson.Read<OrderQuestion>(proposal.Ask);

    public static OrderMore MoreOf(Proposal proposal) => ProposalJson.Read<OrderMore>(proposal.More!);

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var part = new DiaryPart([ask.Date]);
        var seen = await versions.MarkAsync(part, cancel);
        var found = await order.RunAsync(viewer, ask, cancel);
        if (found is not { Ok: true, Value: { } answer })
        {
            return found.Refusal!;
        }

        var cars = answer.Today.Stops.ToDictionary(stop => stop.Entry.Id, stop => stop.Entry.CarId);
        var free = new ProposalCharge(ChargeCode.FreeSchool, Chargeable: false);
        return new Found(new(
            [.. (answer.Better?.Moves ?? []).Select(move => new ProposalLine(
                move.Entry.Id, ProposalAct.Move, [move.Entry.Id], ask.InstructorId, cars[move.Entry.Id], move.To.Start, free, []))],
            part, seen,
            new OrderMore([.. answer.ToAsk], answer.Movable, answer.ToldMinutes(answer.Today), answer.ToldMinutes(answer.Better?.After ?? answer.Today),
                answer.Proved)));
    }

    public override Task<Refusal?> NotYetAsync(
        Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ApplyProposalRequest request, CancellationToken cancel) => Task.FromResult(
        lines.Count == 0 ? OrderDay.NothingBetter
        : !request.Asked && lines.Any(line => MoreOf(proposal).ToAsk.Contains(line.Id))
            ? Refusal.Rule(AskFirst.Code, "Some pupils did not give these times. Ask them first, then confirm that they agree.")
        : null);

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var day = await DayAsync(ask, cancel);
        await locks.TakeAsync(day.Select(l => l.PupilId), [new(ask.InstructorId, ask.Date)], day.Select(l => l.CarId), cancel, others);
    }

    public override async Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var impossible = (await ImpossibleAsync(ask, cancel)).Select(i => i.LessonId).ToHashSet();
        var to = lines.ToDictionary(line => line.Id, line => line.Start!.Value);
        var lessons = await db.Set<Lesson>().Where(l => to.Keys.Contains(l.Id)).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        foreach (var lesson in lessons)
        {
            var during = new Interval(to[lesson.Id], to[lesson.Id] + lesson.During.Duration);
            var moved = await changes.MoveAsync(viewer, lesson, new(lesson.InstructorId, lesson.CarId, during), ChargeCause.School, cancel, MovedFor.Order);
            if (!moved.Ok)
            {
                return moved.Refusal;
            }

            made.Moved(moved.Value);
        }

        await db.SaveSwappingAsync(cancel);
        // Some lines without the others may not fit: the whole order does.
        return (await ImpossibleAsync(ask, cancel)).FirstOrDefault(i => !impossible.Contains(i.LessonId)) is { } broken ? SlotRefusals.Of(broken.Refusal) : null;
    }

    private async Task<List<Lesson>> DayAsync(OrderQuestion ask, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var (from, until) = (zone.AtStartOfDay(ask.Date).ToInstant(), zone.AtStartOfDay(ask.Date.PlusDays(1)).ToInstant());
        return await db.Set<Lesson>().AsNoTracking().Where(l => l.InstructorId == ask.InstructorId && l.StartsAt >= from && l.StartsAt < until).ToListAsync(cancel);
    }

    private async Task<IReadOnlyList<ImpossibleLesson>> ImpossibleAsync(OrderQuestion ask, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(ask.Date, ask.Date, [ask.InstructorId], cancel);
        var cards = await pupils.CardsAsync((await DayAsync(ask, cancel)).Select(l => l.PupilId), cancel);
        var facts = await pictures.PupilsAsync([.. cards.Values], ask.Date, ask.Date, cancel);
        return [.. loaded.Picture.Instructors.SelectMany(diary => DiaryAudit.Find(loaded.Picture, diary, loaded.Travel, facts))];
    }
}
