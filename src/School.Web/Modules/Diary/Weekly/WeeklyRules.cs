using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>
/// What is to become of weekly lessons: one of the three. New ones at a weekday and time, or at starts that were chosen; or those from
/// one lesson on are moved or cancelled. All or none: what does not go stops all of them when it is carried out, and is not left out before.
/// </summary>
internal sealed record WeeklyAsk(
    WeeklyRequest? Book = null, BookWeeklyRequest? Starts = null, Guid? LessonId = null, MoveFollowingRequest? Move = null, CancelFollowingRequest? Cancel = null,
    bool AllOrNone = false)
{
    /// <summary>When each of them was to be when its move was looked at; a lesson that is at another time by now is not moved.</summary>
    public IReadOnlyDictionary<Guid, Instant>? Seen { get; init; }
}

/// <summary>Weekly lessons as proposals: booked, moved or cancelled together, each line by the same checks as a single lesson.</summary>
internal sealed class WeeklyRules(
    SchoolDb db, PreviewWeekly preview, BookWeekly book, MoveFollowing move, CancelFollowing cancelFollowing, DiaryVersions versions,
    LessonLocks locks, CarPark cars, SchoolInfo school) : ProposalRules
{
    public override ProposalKind Kind => ProposalKind.Weekly;

    public static WeeklyAsk AskOf(Proposal proposal) => ProposalJson.Read<WeeklyAsk>(proposal.Ask);

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        // The versions come before what they stand for; which days and instructors it is about is known only afterwards, so it is read twice.
        var first = await LinesAsync(viewer, proposal, cancel);
        if (!first.Ok)
        {
            return first.Refusal;
        }

        var part = await PartAsync(first.Value, cancel);
        var seen = await versions.MarkAsync(part, cancel);
        var lines = await LinesAsync(viewer, proposal, cancel);
        return lines.Ok ? new Found(new(lines.Value, part, seen)) : lines.Refusal;
    }

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var zone = (await school.GetAsync(cancel)).Zone;
        var ids = lines.SelectMany(line => line.LessonIds).ToArray();
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
        var pupils = lessons.Select(l => l.PupilId).Append(ask.Book?.PupilId ?? ask.Starts?.PupilId ?? proposal.PupilId!.Value).Distinct();
        var days = lessons.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date))
            .Concat(lines.Where(line => line.Start is not null).Select(line => new DiaryDay(line.InstructorId!.Value, line.Start!.Value.InZone(zone).Date)));
        var kind = ask.Book?.Kind ?? ask.Starts?.Kind ?? LessonKind.Standard;
        await locks.TakeAsync(
            pupils, [.. days.Distinct()], lessons.Select(l => l.CarId).Distinct(), cancel, kind == LessonKind.Standard ? others : [.. others, LessonLocks.Of(kind)]);
    }

    public override Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel) =>
        AskOf(proposal) switch
        {
            { Move: { } asked, LessonId: { } id, Seen: var seen } => move.CarryOutAsync(viewer, id, asked, seen, lines, made, cancel),
            { Cancel: { } asked } => cancelFollowing.CarryOutAsync(viewer, asked, lines, made, cancel),
            { Book: { } asked } => book.CarryOutAsync(viewer, asked.ToStarts([]), proposal.Id, lines, made, cancel),
            { Starts: { } asked } => book.CarryOutAsync(viewer, asked, proposal.Id, lines, made, cancel),
            _ => throw new InvalidOperationException("A proposal about weekly lessons that asks for nothing."),
        };

    private async Task<Outcome<List<ProposalLine>>> LinesAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        switch (AskOf(proposal))
        {
            case { Move: { } asked, LessonId: { } id, AllOrNone: true }:
                var goes = await move.GoesAsync(viewer, id, asked, cancel);
                return goes.Ok ? goes.Value.Lines : goes.Refusal;
            case { Move: { } asked, LessonId: { } id }:
                var moves = await move.PreviewAsync(id, asked, viewer, cancel);
                return moves.Ok ? await MovesAsync(moves.Value, asked, cancel) : moves.Refusal;
            case { Cancel: { } asked, LessonId: { } id }:
                var told = await cancelFollowing.PreviewAsync(viewer, id, asked.Reason, cancel);
                return told.Ok ? told.Value.ConvertAll(Cancelling) : told.Refusal;
            case { Book: { } asked }:
                var dates = await preview.RunAsync(asked, viewer, cancel);
                return dates.Ok ? dates.Value.Dates.Select(date => Booking(date, asked.InstructorId)).ToList() : dates.Refusal;
            case { Starts: { } asked }:
                return asked.Starts.Distinct().Order().Select(start => new ProposalLine(
                    RowId.New(), ProposalAct.Book, [], asked.InstructorId, null, start, null, [])).ToList();
            default:
                return Refusal.Invalid(nameof(WeeklyAsk.Book), "Say which lessons are to be booked, moved or cancelled.");
        }
    }

    private async Task<List<ProposalLine>> MovesAsync(List<FollowingMove> moves, MoveFollowingRequest asked, CancellationToken cancel)
    {
        var ids = moves.ConvertAll(m => m.LessonId);
        var had = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToDictionaryAsync(l => l.Id, l => l.InstructorId, cancel);
        return moves.ConvertAll(m => new ProposalLine(
            m.LessonId, m.Fits ? ProposalAct.Move : ProposalAct.None, [m.LessonId], asked.InstructorId ?? had[m.LessonId], null, m.Start, m.Charge, WhyNot(m.Fits, m.Code, m.Sentence)));
    }

    private static ProposalLine Cancelling(ChargeTold told) => new(
        told.Lesson.Id, ProposalAct.Cancel, [told.Lesson.Id], told.Lesson.InstructorId, told.Lesson.CarId, null, ProposalCharge.Of(told.Charge), []);

    private static ProposalLine Booking(WeeklyDate date, Guid instructorId) => new(
        RowId.New(), date.Fits ? ProposalAct.Book : ProposalAct.None, [], instructorId, null, date.Start, null, WhyNot(date.Fits, date.Code, date.Sentence));

    private static List<ProposalWhyNot> WhyNot(bool fits, string? code, string? sentence) => fits ? [] : [new(null, code!, sentence!)];

    /// <summary>The days that the lessons leave and go to, of their instructors and the cars that these hold.</summary>
    private async Task<DiaryPart> PartAsync(List<ProposalLine> lines, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var ids = lines.SelectMany(line => line.LessonIds).ToArray();
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
        var who = lines.Select(line => line.InstructorId).OfType<Guid>().Concat(lessons.Select(l => l.InstructorId)).ToHashSet();
        var held = (await cars.ReadAsync(zone, alsoRetired: false, cancel)).Holds.Where(hold => who.Contains(hold.InstructorId)).Select(hold => hold.CarId);
        var dates = lines.Select(line => line.Start).OfType<Instant>().Concat(lessons.Select(l => l.StartsAt)).Select(start => start.InZone(zone).Date);
        return new([.. dates.Distinct().Order()], [.. who.Concat(held).Concat(lessons.Select(l => l.CarId)).Distinct().Order()]);
    }
}
