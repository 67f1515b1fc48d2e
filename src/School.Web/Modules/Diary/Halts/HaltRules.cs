using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Halts;

/// <summary>A lesson as it was booked: what is carried out changes the lesson itself.</summary>
/// <param name="Stated">Whether the times that the pupil stated cover the one to which it would move.</param>
internal sealed record HaltBefore(Guid LessonId, Guid PupilId, Guid InstructorId, Instant Start, Instant End, bool Stated = false);

/// <summary>What a halt tells beside its lines.</summary>
internal sealed record HaltMore(IReadOnlyList<HaltBefore> Before);

/// <summary>
/// Lessons stopped for the weather or another cause: all of some hours, instructors and areas, cancelled or moved, free of charge. Where no area is named,
/// those hours become time off of whoever has no lesson left in them; else they stay open. Nobody on the waiting list is offered them.
/// </summary>
internal sealed class HaltRules(
    SchoolDb db, ReadOnce once, ChangeLessons changes, MoveLesson move, SlotFinder slots, DiaryVersions versions, PupilBook pupils, PupilTimes times, InstructorBook instructors,
    AreaBook areas, LessonLocks locks, Audit audit, SchoolInfo school, IClock clock) : ProposalRules
{
    /// <summary>A lesson is moved to the first time that fits within so many days after the halt.</summary>
    public const int DaysToMove = 14;

    private static readonly Refusal OnlyLooking = Refusal.Rule("preview", "Nothing was moved.");

    private static readonly ProposalWhyNot Begun = new(null, "lesson_begun", "This lesson has begun. End it on the road, and record what was taught.");

    private static readonly ProposalWhyNot NoTime = new(
        null, "no_time_to_move", $"No time fits within {DaysToMove} days after the halt. Cancel the lesson, or look for another time with the pupil.");

    public override ProposalKind Kind => ProposalKind.Halt;

    public static HaltRequest AskOf(Proposal proposal) => ProposalJson.Read<HaltRequest>(proposal.Ask);

    public static HaltMore MoreOf(Proposal proposal) => ProposalJson.Read<HaltMore>(proposal.More!);

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var part = await PartAsync(ask, cancel);
        var seen = await versions.MarkAsync(part, cancel);
        var lessons = await LessonsAsync(ask, cancel);
        if (lessons.Count == 0)
        {
            return Refusal.Rule("nothing_to_halt", "No booked lessons lie in those hours, so there is nothing to stop.");
        }

        var now = clock.GetCurrentInstant();
        var ahead = lessons.Where(l => l.StartsAt > now).ToList();
        var zone = (await school.GetAsync(cancel)).Zone;
        var stated = ask.Act is HaltAct.Move ? await times.ReadAsync(ahead.Select(l => l.PupilId).Distinct(), cancel) : new Dictionary<Guid, IReadOnlyList<AvailableTime>>();
        Dictionary<Guid, Instant> starts = ask.Act is HaltAct.Move ? await TryAsync(viewer, ask, ahead, stated, cancel) : [];
        var lines = new List<ProposalLine>(lessons.Count);
        foreach (var lesson in lessons)
        {
            lines.Add(await LineAsync(viewer, ask, lesson, lesson.StartsAt <= now ? Begun : null, starts, now, cancel));
        }

        return new Found(new(lines, part, seen, new HaltMore([.. lessons.Select(l => new HaltBefore(l.Id, l.PupilId, l.InstructorId, l.StartsAt, l.EndsAt, IsStated(l)))])));

        bool IsStated(Lesson lesson) =>
            starts.TryGetValue(lesson.Id, out var start) && AvailableTime.Holds(stated[lesson.PupilId], new(start, start + lesson.During.Duration), zone);
    }

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel)
    {
        var ids = lines.Select(line => line.Id).ToArray();
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        var days = lessons.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date))
            .Concat(lines.Where(line => line.Start is not null).Select(line => new DiaryDay(line.InstructorId!.Value, line.Start!.Value.InZone(zone).Date)))
            .Concat(await ClosedAsync(AskOf(proposal), zone, cancel)).Distinct();
        await locks.TakeAsync(lessons.Select(l => l.PupilId).Distinct(), [.. days], lessons.Select(l => l.CarId).Distinct(), cancel, others);
    }

    public override async Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var (ask, now, facts) = (AskOf(proposal), clock.GetCurrentInstant(), await school.GetAsync(cancel));
        // Who asked for everybody's may keep only their own by now.
        if (!(ask.InstructorIds is { } named ? named.All(viewer.KeepsDiaryOf) : viewer.KeepsDiary))
        {
            return Refusal.NotFound("instructor");
        }

        var wanted = lines.Where(line => line.Act is not ProposalAct.None).ToDictionary(line => line.Id);
        if (wanted.Count == 0)
        {
            return Refusal.Rule("nothing_to_halt", "None of these lessons can be stopped: each says why.");
        }

        var lessons = await db.Set<Lesson>().Where(l => wanted.Keys.Contains(l.Id)).OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
        // Time goes on while somebody looks: what has begun since is not undone under those who sit in the car.
        if (lessons.Any(l => l.StartsAt <= now) || wanted.Values.Any(line => line.Start <= now))
        {
            return ApplyProposal.Stale;
        }

        // Who still has a lesson in those hours works in them.
        var stay = ask.AreaIds is null ? (await LessonsAsync(ask, cancel)).Where(l => l.StartsAt > now && !wanted.ContainsKey(l.Id)).Select(l => l.InstructorId).ToHashSet() : [];
        await EnterTimeOffAsync(ask, now, stay, cancel);
        foreach (var lesson in lessons)
        {
            var refusal = wanted[lesson.Id].Act is ProposalAct.Move
                ? await MoveAsync(viewer, lesson, wanted[lesson.Id].Start!.Value, ask, made, cancel)
                : await CancelAsync(viewer, lesson, ask, made, cancel);
            if (refusal is not null)
            {
                return refusal with { Telling = refusal.Telling.Map(why => $"Nothing was done. {facts.Moment(lesson.StartsAt)}: {why}") };
            }
        }

        proposal.KeepCarriedOut([.. lines]);
        var moved = made.All.Count(change => change.Kind is MadeKind.Moved);
        audit.Note(
            viewer, "halt.apply", null,
            $"Stopped lessons for {facts.Period(ask.During)} because of {ask.Reason.Words()}: {Words.Count(moved, "lesson")} moved, {lessons.Count - moved} cancelled.");
        return null;
    }

    private async Task<Refusal?> CancelAsync(Viewer viewer, Lesson lesson, HaltRequest ask, ChangesMade made, CancellationToken cancel)
    {
        var cancelled = await changes.CancelAsync(viewer, lesson, ask.Reason, cancel, offers: false);
        if (cancelled.Ok)
        {
            made.Cancelled(lesson);
        }

        return cancelled.Refusal;
    }

    private async Task<Refusal?> MoveAsync(Viewer viewer, Lesson lesson, Instant start, HaltRequest ask, ChangesMade made, CancellationToken cancel)
    {
        var pupil = (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId];
        if (await instructors.FindAsync(lesson.InstructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        var moved = await move.ApplyAsync(viewer, lesson, pupil, instructor, start, ask.Reason.Cause(viewer), cancel, offers: false);
        if (!moved.Ok)
        {
            return moved.Refusal;
        }

        made.Moved(moved.Value);
        // The next one is checked against a diary that holds this one.
        await db.SaveChangesAsync(cancel);
        return null;
    }

    private async Task<ProposalLine> LineAsync(
        Viewer viewer, HaltRequest ask, Lesson lesson, ProposalWhyNot? begun, Dictionary<Guid, Instant> starts, Instant now, CancellationToken cancel)
    {
        if (begun is not null || (ask.Act is HaltAct.Move && !starts.ContainsKey(lesson.Id)))
        {
            return new(lesson.Id, ProposalAct.None, [lesson.Id], lesson.InstructorId, lesson.CarId, null, null, [begun ?? NoTime]);
        }

        var act = ask.Act is HaltAct.Move ? Core.Diary.Charges.ChargeAct.Move : Core.Diary.Charges.ChargeAct.Cancel;
        var charge = ProposalCharge.Of(await changes.DecideAsync(act, ask.Reason.Cause(viewer), lesson, now, cancel));
        return ask.Act is HaltAct.Move
            ? new(lesson.Id, ProposalAct.Move, [lesson.Id], lesson.InstructorId, null, starts[lesson.Id], charge, [])
            : new(lesson.Id, ProposalAct.Cancel, [lesson.Id], lesson.InstructorId, lesson.CarId, null, charge, []);
    }

    /// <summary>Does it all in a transaction that is undone: each lesson takes the first time that fits once those before it have theirs.</summary>
    private async Task<Dictionary<Guid, Instant>> TryAsync(
        Viewer viewer, HaltRequest ask, List<Lesson> lessons, IReadOnlyDictionary<Guid, IReadOnlyList<AvailableTime>> stated, CancellationToken cancel)
    {
        var starts = new Dictionary<Guid, Instant>();
        _ = await db.InTransactionAsync<HaltRequest>(
            async cancel =>
            {
                starts.Clear();
                await EnterTimeOffAsync(ask, clock.GetCurrentInstant(), [], cancel);
                await db.SaveChangesAsync(cancel);
                foreach (var known in lessons)
                {
                    once.Forget();
                    var lesson = await db.Set<Lesson>().SingleAsync(l => l.Id == known.Id, cancel);
                    if (await FirstAsync(viewer, lesson, ask, stated[lesson.PupilId], cancel) is { } start
                        && await MoveAsync(viewer, lesson, start, ask, new(), cancel) is null)
                    {
                        starts[lesson.Id] = start;
                    }
                }

                return OnlyLooking;
            },
            cancel);
        once.Forget();
        return starts;
    }

    /// <summary>The first time after the halt at which the same instructor can give it, among those that the pupil stated where they did.</summary>
    private async Task<Instant?> FirstAsync(Viewer viewer, Lesson lesson, HaltRequest ask, IReadOnlyList<AvailableTime> stated, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var from = ask.End.InZone(zone).Date;
        var question = SlotQuestion.ToMove(lesson, from) with { To = from.PlusDays(DaysToMove), InstructorId = lesson.InstructorId };
        var found = await slots.FindAsync(question, viewer, cancel);
        return !found.Ok ? null : found.Value.Offers
            .Where(offer => offer.Start >= ask.End && (stated.Count == 0 || AvailableTime.Holds(stated, new(offer.Start, offer.End), zone)))
            .Select(offer => (Instant?)offer.Start).Min();
    }

    private async Task<List<Lesson>> LessonsAsync(HaltRequest ask, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var earliest = ask.Start - Lesson.Longest;
        var who = ask.InstructorIds?.ToArray();
        var lessons = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.StartsAt > earliest && l.StartsAt < ask.End && l.EndsAt > ask.Start && l.EndsAt > now && (who == null || who.Contains(l.InstructorId)))
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
        if (ask.AreaIds is not { } named)
        {
            return lessons;
        }

        var districts = await areas.OfAsync(lessons.Select(l => l.PickUp), cancel);
        return lessons.FindAll(l => districts.Of(l.PickUp) is { } area && named.Contains(area));
    }

    private async Task<IReadOnlyList<Guid>> WhoAsync(HaltRequest ask, CancellationToken cancel) =>
        ask.InstructorIds ?? [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Select(i => i.Id)];

    /// <summary>The days on which time off may be entered, also where no lesson lies.</summary>
    private async Task<IReadOnlyList<DiaryDay>> ClosedAsync(HaltRequest ask, DateTimeZone zone, CancellationToken cancel)
    {
        if (ask.AreaIds is not null)
        {
            return [];
        }

        var (first, last) = (ask.Start.InZone(zone).Date, (ask.End - Duration.Epsilon).InZone(zone).Date);
        var dates = Enumerable.Range(0, Period.DaysBetween(first, last) + 1).Select(first.PlusDays).ToList();
        return [.. from id in await WhoAsync(ask, cancel) from date in dates select new DiaryDay(id, date)];
    }

    private async Task EnterTimeOffAsync(HaltRequest ask, Instant now, HashSet<Guid> stay, CancellationToken cancel)
    {
        if (ask.AreaIds is not null)
        {
            return;
        }

        var from = Instant.Max(ask.Start, now);
        // Who is on the road ends that lesson first: it does not lie in time off.
        var on = (await LessonsAsync(ask, cancel)).Where(l => l.StartsAt <= now).GroupBy(l => l.InstructorId).ToDictionary(theirs => theirs.Key, theirs => theirs.Max(l => l.EndsAt));
        var who = (await WhoAsync(ask, cancel)).Where(id => !stay.Contains(id)).ToList();
        var known = (await db.Set<TimeOffRow>().AsNoTracking().Where(o => who.Contains(o.InstructorId) && o.StartsAt < ask.End && o.EndsAt > from).OrderBy(o => o.StartsAt).ToListAsync(cancel))
            .ToLookup(o => o.InstructorId);
        foreach (var id in who)
        {
            var at = on.TryGetValue(id, out var ends) ? ends : from;
            foreach (var off in known[id])
            {
                Add(id, at, off.StartsAt);
                at = Instant.Max(at, off.EndsAt);
            }

            Add(id, at, ask.End);
        }

        void Add(Guid id, Instant start, Instant end)
        {
            if (start < end)
            {
                db.Add(new TimeOffRow { InstructorId = id, StartsAt = start, EndsAt = end, Reason = $"Lessons stopped: {ask.Reason.Words()}" });
            }
        }
    }

    private async Task<DiaryPart> PartAsync(HaltRequest ask, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var last = ask.End.InZone(zone).Date;
        return DiaryPart.Between(ask.Start.InZone(zone).Date, ask.Act is HaltAct.Move ? last.PlusDays(DaysToMove) : last);
    }
}
