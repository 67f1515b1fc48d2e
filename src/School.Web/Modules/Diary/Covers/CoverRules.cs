using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Core.Diary.Cover;
using School.Core.Diary.Slots;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>What a proposal of cover tells beside its lines.</summary>
/// <param name="Cost">What it costs.</param>
/// <param name="Bound">What it costs at least.</param>
/// <param name="DrivesTold">Whether every place of those days is found, so that driving may be told.</param>
/// <param name="Before">Each line's lesson as it was booked: what is carried out changes the lesson itself. Null in what was kept by an earlier release.</param>
internal sealed record CoverMore(CoverCost Cost, CoverCost Bound, bool DrivesTold = true, IReadOnlyList<CoverBefore>? Before = null)
{
    public bool IsProven => Cost == Bound;
}

/// <summary>A lesson as it was booked, and whether the times that its pupil stated cover what is proposed.</summary>
internal sealed record CoverBefore(Guid LessonId, Guid InstructorId, Guid CarId, Instant Start, bool Stated);

/// <summary>
/// Cover: time off or off the road is entered, lessons that are taken over are moved, those that nobody takes are cancelled and their
/// pupils put on the waiting list. Most answer at once; one that takes longer goes on as a job that tells how far it has come.
/// </summary>
internal sealed class CoverRules(
    SchoolDb db, CoverReader reader, DiaryVersions versions, PictureLoader pictures, PupilBook pupils, CarPark cars, LessonLocks locks, ChangeLessons changes,
    UncoveredLessons uncovered, Audit audit, SchoolInfo school, CoverLimits limits, IClock clock) : ProposalRules
{
    private static readonly TimeSpan Pause = TimeSpan.FromSeconds(0.5);

    public override ProposalKind Kind => ProposalKind.Cover;

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        if (await ReadAsync(ask, cancel) is not { } reading)
        {
            return Refusal.Rule("nothing_to_cover", ask.InstructorId is not null
                ? "No booked lessons lie in that time, so there is nothing to cover. Enter the time off with the instructor's hours."
                : "No booked lessons need the car in that time, so there is nothing to cover. Take it off the road on the car's page.");
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        if (reading.Cover.Lessons.GroupBy(l => l.StartsAt.InZone(zone).Date).Any(day => day.Count() > CoverSearch.MostLessonsADay))
        {
            return Refusal.Rule("too_many_lessons", $"More than {CoverSearch.MostLessonsADay} lessons of one day would need cover. Choose a shorter time.");
        }

        using var enough = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        if (limits.AtOnceSeconds > 0)
        {
            enough.CancelAfter(TimeSpan.FromSeconds(limits.AtOnceSeconds));
        }
        else
        {
            await enough.CancelAsync();
        }

        var answer = CoverSearch.Propose(reading.Cover.Problem, reading.Cover.Loaded.Travel, giveUp: enough.Token);
        cancel.ThrowIfCancellationRequested();
        return new Found(answer.IsProven || proposal.State is ProposalState.Proposed ? Answer(ask, answer, reading) : null);
    }

    public override async Task<WorkedOut> WorkOnAsync(Proposal proposal, Func<int, int, Task<bool>> goesOn, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        if (await ReadAsync(ask, cancel) is not { } reading)
        {
            var part = await PartAsync(ask, cancel);
            return new([], part, await versions.MarkAsync(part, cancel), new CoverMore(default, default));
        }

        using var enough = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        enough.CancelAfter(TimeSpan.FromSeconds(limits.MostSeconds));
        var progress = new Latest();
        var work = Task.Run(() => CoverSearch.Propose(reading.Cover.Problem, reading.Cover.Loaded.Travel, progress, enough.Token), CancellationToken.None);
        while (await Task.WhenAny(work, Task.Delay(Pause, CancellationToken.None)) != work)
        {
            if (!await goesOn(progress.Value.Done, progress.Value.Of))
            {
                await enough.CancelAsync();
            }
        }

        return Answer(ask, await work, reading);
    }

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel)
    {
        var lessons = await LessonsAsync(proposal.LinesOf(), cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        await locks.TakeAsync(lessons.Select(l => l.PupilId), Days(lessons, lines, zone), lessons.Select(l => l.CarId).Concat(lines.Select(l => l.CarId).OfType<Guid>()), cancel, others);
    }

    public override async Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var (ask, facts, now) = (AskOf(proposal), await school.GetAsync(cancel), clock.GetCurrentInstant());
        if (lines.Any(line => line.Start < now) || await reader.ReadAsync(ask, cancel) is not { } reading
            // What has begun since is not among those still to start.
            || lines.Any(line => reading.Lessons.All(l => l.Id != line.Id)))
        {
            return ApplyProposal.Stale;
        }

        var days = Days(reading.Lessons, lines, facts.Zone);
        var dates = days.Select(day => day.Date).Distinct().Order().ToList();
        var who = days.Select(day => day.InstructorId).Distinct().ToList();
        var impossible = (await ImpossibleAsync(reading, who, dates, cancel)).Select(i => i.LessonId).ToHashSet();
        await EnterAbsenceAsync(ask, cancel);
        var byLesson = lines.ToDictionary(line => line.Id);
        var lessons = await db.Set<Lesson>().Where(l => byLesson.Keys.Contains(l.Id)).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        foreach (var lesson in lessons)
        {
            if (await ChangeAsync(viewer, lesson, byLesson[lesson.Id], ask, made, cancel) is { } refusal)
            {
                return refusal;
            }
        }

        proposal.KeepCarriedOut(lines);
        await db.SaveSwappingAsync(cancel);
        var left = reading.Lessons.Select(l => l.Id).Except(byLesson.Keys).ToHashSet();
        if ((await ImpossibleAsync(reading, who, dates, cancel)).FirstOrDefault(i => !impossible.Contains(i.LessonId) && !left.Contains(i.LessonId)) is { } broken)
        {
            return SlotRefusals.Of(broken.Refusal);
        }

        var moved = made.All.Count(change => change.Kind is MadeKind.Moved);
        audit.Note(
            viewer, "cover.apply", ask.InstructorId ?? ask.CarId,
            $"Carried out cover for {facts.Period(ask.During)}: {Words.Count(moved, "lesson")} taken over, {lessons.Count - moved} cancelled.");
        return null;
    }

    /// <summary>Null while it is worked out.</summary>
    public static CoverMore? MoreOf(Proposal proposal) => proposal.More is { } more ? ProposalJson.Read<CoverMore>(more) : null;

    public static CoverRequest AskOf(Proposal proposal) => ProposalJson.Read<CoverRequest>(proposal.Ask);

    private async Task<Refusal?> ChangeAsync(Viewer viewer, Lesson lesson, ProposalLine line, CoverRequest ask, ChangesMade made, CancellationToken cancel)
    {
        if (line.Act is not ProposalAct.Move)
        {
            return await uncovered.GiveUpAsync(viewer, lesson, ask.Because, made, cancel);
        }

        var to = new LessonPlace(line.InstructorId!.Value, line.CarId!.Value, new(line.Start!.Value, line.Start.Value + lesson.During.Duration));
        var moved = await changes.MoveAsync(viewer, lesson, to, ask.Because.Cause(viewer), cancel, MovedFor.Cover);
        if (moved.Ok)
        {
            made.Moved(moved.Value);
        }

        return moved.Refusal;
    }

    /// <summary>The versions come before what they stand for.</summary>
    private async Task<(CoverReading Cover, DiaryPart Part, string Seen)?> ReadAsync(CoverRequest ask, CancellationToken cancel)
    {
        var part = await PartAsync(ask, cancel);
        var seen = await versions.MarkAsync(part, cancel);
        return await reader.ReadAsync(ask, cancel) is { } reading ? (reading, part, seen) : null;
    }

    private async Task<DiaryPart> PartAsync(CoverRequest ask, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        return DiaryPart.Between(ask.Start.InZone(zone).Date, ask.End.InZone(zone).Date);
    }

    private static WorkedOut Answer(CoverRequest ask, CoverProposal answer, (CoverReading Cover, DiaryPart Part, string Seen) reading)
    {
        var charge = new ProposalCharge(ask.InstructorId is not null ? ChargeCode.FreeInstructorIll : ChargeCode.FreeCar, Chargeable: false);
        return new(
            [.. answer.Lines.Select(line => new ProposalLine(
                line.LessonId, line.Place is null ? ProposalAct.Cancel : ProposalAct.Move, [line.LessonId], line.Place?.InstructorId, line.Place?.CarId, line.Place?.Start,
                charge, [.. line.WhyNot.Select(why => new ProposalWhyNot(why.InstructorId, why.Refusal.Code, why.Refusal.Telling.ToStaff))]))],
            reading.Part, reading.Seen, new CoverMore(answer.Cost, answer.Bound, reading.Cover.PlacesFound, [.. reading.Cover.Lessons.Select(lesson =>
                new CoverBefore(lesson.Id, lesson.InstructorId, lesson.CarId, lesson.StartsAt, reading.Cover.StatedBy.Contains(lesson.PupilId)))]));
    }

    private Task<List<Lesson>> LessonsAsync(IReadOnlyList<ProposalLine> lines, CancellationToken cancel)
    {
        var ids = lines.Select(line => line.Id).ToArray();
        return db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
    }

    private static List<DiaryDay> Days(IReadOnlyList<Lesson> lessons, IReadOnlyList<ProposalLine> lines, DateTimeZone zone) =>
    [
        .. lessons.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date))
            .Concat(lines.Where(line => line.Act is ProposalAct.Move).Select(line => new DiaryDay(line.InstructorId!.Value, line.Start!.Value.InZone(zone).Date)))
            .Distinct(),
    ];

    private async Task<IReadOnlyList<ImpossibleLesson>> ImpossibleAsync(CoverReading reading, List<Guid> who, List<LocalDate> dates, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(dates[0], dates[^1], who, cancel);
        var cards = await pupils.CardsAsync(reading.Lessons.Select(l => l.PupilId), cancel);
        var facts = await pictures.PupilsAsync([.. cards.Values], dates[0], dates[^1], cancel);
        return [.. loaded.Picture.Instructors.SelectMany(diary => DiaryAudit.Find(loaded.Picture, diary, loaded.Travel, facts))];
    }

    private async Task EnterAbsenceAsync(CoverRequest ask, CancellationToken cancel)
    {
        if (ask.CarId is { } carId)
        {
            await cars.TakeOffRoadAsync(carId, ask.During, ask.Reason!, cancel);
            return;
        }

        // What is time off already stays as it is.
        var known = await db.Set<TimeOffRow>().Where(o => o.InstructorId == ask.InstructorId && o.StartsAt < ask.End && o.EndsAt > ask.Start)
            .OrderBy(o => o.StartsAt).ToListAsync(cancel);
        var from = ask.Start;
        foreach (var off in known)
        {
            Add(from, off.StartsAt);
            from = off.EndsAt;
        }

        Add(from, ask.End);

        void Add(Instant start, Instant end)
        {
            if (start < end)
            {
                db.Add(new TimeOffRow { InstructorId = ask.InstructorId!.Value, StartsAt = start, EndsAt = end, Reason = ask.Reason! });
            }
        }
    }

    private sealed class Latest : IProgress<CoverProgress>
    {
        private long both;

        public CoverProgress Value => new((int)(Volatile.Read(ref both) >> 32), (int)Volatile.Read(ref both));

        public void Report(CoverProgress value) => Volatile.Write(ref both, ((long)value.Done << 32) | (uint)value.Of);
    }
}
