using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>Which lines to carry out; all when none are named. The others stay as they are.</summary>
internal sealed record ApplyCoverRequest(IReadOnlyList<Guid>? LessonIds = null);

/// <summary>
/// Carries a proposal out in one transaction: time off or off the road is entered, lessons that are taken over are moved, those that
/// nobody takes are cancelled, everybody is told. Under the locks of every day it touches, and refused when the diary has
/// changed since it was worked out; then it is worked out anew.
/// </summary>
internal sealed class ApplyCover(
    SchoolDb db, CoverReader reader, PlanCover plans, PictureLoader pictures, PupilBook pupils, CarPark cars, LessonLocks locks,
    ChangeLessons changes, LessonMail mail, UncoveredLessons uncovered, Audit audit, SchoolInfo school, IClock clock)
{
    private static readonly Refusal Changed = Refusal.Conflict(
        "cover_stale", "The diary has changed since this was worked out, so nothing was done. It has been worked out again: look at it and carry it out then.");

    public async Task<Outcome<CoverPlan>> RunAsync(Guid planId, ApplyCoverRequest request, int? expectedVersion, Viewer viewer, CancellationToken cancel)
    {
        if (await db.Set<CoverPlan>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == planId, cancel) is not { } before)
        {
            return Refusal.NotFound("plan for cover");
        }

        if (before.State is not CoverState.Proposed || CoverAnswer.Read(before.Answer) is not { } answer)
        {
            return before.NotOpen();
        }

        var errors = new FieldErrors()
            .When(request.LessonIds is { Count: 0 }, nameof(request.LessonIds), "Tick at least one lesson.")
            .When(request.LessonIds?.Except(answer.Lines.Select(l => l.LessonId)).Any() == true, nameof(request.LessonIds), "Not all of these lessons are part of this plan.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var lines = answer.Lines.Where(line => request.LessonIds is not { } chosen || chosen.Contains(line.LessonId)).ToDictionary(line => line.LessonId);
        var outcome = await db.InTransactionAsync<CoverPlan>(cancel => ApplyAsync(before, lines, expectedVersion, viewer, cancel), cancel);
        if (outcome.Ok || outcome.Refusal.Code != Changed.Code)
        {
            return outcome;
        }

        return await plans.AgainAsync(planId, cancel) is { } refusal ? refusal : Changed;
    }

    private async Task<Outcome<CoverPlan>> ApplyAsync(
        CoverPlan before, Dictionary<Guid, CoverAnswerLine> lines, int? expectedVersion, Viewer viewer, CancellationToken cancel)
    {
        if (await reader.ReadAsync(before, cancel) is not { } looked)
        {
            return Changed;
        }

        var facts = await school.GetAsync(cancel);
        var days = Days(looked, lines, facts.Zone);
        await locks.TakeAsync([.. looked.Lessons.Select(l => l.PupilId)], days, looked.Lessons.Select(l => l.CarId), cancel, [PlanCover.LockOf(before.Id)]);
        var plan = await db.Set<CoverPlan>().SingleAsync(c => c.Id == before.Id, cancel);
        if (expectedVersion is { } version && version != plan.Version)
        {
            return Refusal.Stale;
        }

        var now = clock.GetCurrentInstant();
        if (plan.Apply() is { } closed)
        {
            return closed;
        }

        if (await reader.ReadAsync(plan, cancel) is not { } reading || reading.Seen != plan.Seen || lines.Values.Any(line => line.Start < now))
        {
            return Changed;
        }

        var dates = days.Select(day => day.Date).Distinct().Order().ToList();
        var who = days.Select(day => day.InstructorId).Distinct().ToList();
        var impossible = (await ImpossibleAsync(reading, who, dates, cancel)).Select(i => i.LessonId).ToHashSet();
        await EnterAbsenceAsync(plan, cancel);
        var ids = lines.Keys.ToArray();
        var lessons = await db.Set<Lesson>().Where(l => ids.Contains(l.Id)).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        var moved = new List<MovedLesson>();
        foreach (var lesson in lessons)
        {
            var line = lines[lesson.Id];
            if (line.IsCovered)
            {
                var to = new LessonPlace(line.InstructorId!.Value, line.CarId!.Value, new(line.Start!.Value, line.Start.Value + lesson.During.Duration));
                var changed = await changes.MoveAsync(viewer, lesson, to, plan.Because.Cause(viewer), cancel, MovedFor.Cover);
                if (!changed.Ok)
                {
                    return changed.Refusal;
                }

                moved.Add(changed.Value);
            }
            else if (await uncovered.GiveUpAsync(lesson, plan.Because, viewer, cancel) is { } refusal)
            {
                return refusal;
            }
        }

        await db.SaveSwappingAsync(cancel);
        var left = reading.Lessons.Select(l => l.Id).Except(ids).ToHashSet();
        var broken = (await ImpossibleAsync(reading, who, dates, cancel)).FirstOrDefault(i => !impossible.Contains(i.LessonId) && !left.Contains(i.LessonId));
        if (broken is not null)
        {
            return SlotRefusals.Of(broken.Refusal);
        }

        foreach (var lesson in moved.Where(m => m.Lesson.InstructorId != m.FormerInstructorId || m.Lesson.During != m.From))
        {
            await mail.MovedAsync(lesson, viewer, cancel);
        }

        audit.Note(
            viewer, "cover.apply", plan.InstructorId ?? plan.CarId,
            $"Carried out cover for {facts.Period(plan.During)}: {Words.Count(moved.Count, "lesson")} taken over, {lessons.Count - moved.Count} cancelled.");
        return plan;
    }

    private static List<DiaryDay> Days(CoverReading reading, Dictionary<Guid, CoverAnswerLine> lines, DateTimeZone zone) =>
    [
        .. reading.Lessons.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date))
            .Concat(lines.Values.Where(line => line.IsCovered).Select(line => new DiaryDay(line.InstructorId!.Value, line.Start!.Value.InZone(zone).Date)))
            .Distinct(),
    ];

    private async Task<IReadOnlyList<ImpossibleLesson>> ImpossibleAsync(CoverReading reading, List<Guid> who, List<LocalDate> dates, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(dates[0], dates[^1], who, cancel);
        var cards = await pupils.CardsAsync(reading.Lessons.Select(l => l.PupilId), cancel);
        var facts = await pictures.PupilsAsync([.. cards.Values], dates[0], dates[^1], cancel);
        return [.. loaded.Picture.Instructors.SelectMany(diary => DiaryAudit.Find(loaded.Picture, diary, loaded.Travel, facts))];
    }

    private async Task EnterAbsenceAsync(CoverPlan plan, CancellationToken cancel)
    {
        if (plan.CarId is { } carId)
        {
            await cars.TakeOffRoadAsync(carId, plan.During, plan.Reason, cancel);
            return;
        }

        // What is time off already stays as it is.
        var known = await db.Set<TimeOffRow>().Where(o => o.InstructorId == plan.InstructorId && o.StartsAt < plan.EndsAt && o.EndsAt > plan.StartsAt)
            .OrderBy(o => o.StartsAt).ToListAsync(cancel);
        var from = plan.StartsAt;
        foreach (var off in known)
        {
            Add(from, off.StartsAt);
            from = off.EndsAt;
        }

        Add(from, plan.EndsAt);

        void Add(Instant start, Instant end)
        {
            if (start < end)
            {
                db.Add(new TimeOffRow { InstructorId = plan.InstructorId!.Value, StartsAt = start, EndsAt = end, Reason = plan.Reason });
            }
        }
    }
}
