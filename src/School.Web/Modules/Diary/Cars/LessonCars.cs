using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Cars;

/// <summary>A booked lesson as the giving out of cars needs it.</summary>
internal sealed record LessonInCar(Guid LessonId, Guid InstructorId, Guid PupilId, Guid CarId, Instant StartsAt, Instant EndsAt);

/// <summary>Which lessons need cars, and the change of their cars.</summary>
internal sealed class LessonCars(SchoolDb db, LessonLocks locks, ChangeLessons changes, SchoolInfo school, IClock clock)
{
    /// <summary>Booked lessons still to start whose start lies between two dates, both included; by start.</summary>
    public async Task<IReadOnlyList<LessonInCar>> BookedAsync(LocalDate from, LocalDate to, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var (start, end, now) = (zone.AtStartOfDay(from).ToInstant(), zone.AtStartOfDay(to.PlusDays(1)).ToInstant(), clock.GetCurrentInstant());
        return await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.StartsAt > now && l.StartsAt >= start && l.StartsAt < end)
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id)
            .Select(l => new LessonInCar(l.Id, l.InstructorId, l.PupilId, l.CarId, l.StartsAt, l.EndsAt)).ToListAsync(cancel);
    }

    /// <summary>The locks of the days and cars of some lessons, with others that the transaction needs. Read again afterwards.</summary>
    public async Task LockAsync(IReadOnlyList<LessonInCar> lessons, IEnumerable<Guid> carsInUse, IEnumerable<string> others, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var days = lessons.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date)).Distinct().ToList();
        await locks.TakeAsync([], days, lessons.Select(l => l.CarId).Concat(carsInUse).Distinct(), cancel, others);
    }

    /// <summary>Puts lessons into other cars, in the caller's transaction and under its locks.</summary>
    public async Task<Refusal?> PutIntoAsync(IReadOnlyDictionary<Guid, Guid> carOfLesson, Viewer viewer, ChangesMade made, CancellationToken cancel)
    {
        var ids = carOfLesson.Keys.ToArray();
        var lessons = await db.Set<Lesson>().Where(l => ids.Contains(l.Id)).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        foreach (var lesson in lessons)
        {
            var moved = await changes.MoveAsync(
                viewer, lesson, new(lesson.InstructorId, carOfLesson[lesson.Id], lesson.During), ChargeCause.School, cancel, MovedFor.Cars);
            if (!moved.Ok)
            {
                return moved.Refusal;
            }

            made.Moved(moved.Value);
        }

        await db.SaveSwappingAsync(cancel);
        return null;
    }
}
