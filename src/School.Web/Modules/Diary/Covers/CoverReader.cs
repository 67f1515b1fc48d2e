using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Cover;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Covers;

/// <summary>The lessons to cover and everybody who may, with the time off or the repair already in the picture.</summary>
/// <param name="Lessons">By start.</param>
/// <param name="Problem">What to work out.</param>
/// <param name="Loaded">The names that go with the ids, and the travel times.</param>
/// <param name="Seen">A mark of the diary as it was read: another when anything in it has changed.</param>
internal sealed record CoverReading(IReadOnlyList<Lesson> Lessons, CoverProblem Problem, LoadedPicture Loaded, string Seen);

/// <summary>Reads what a search for cover looks at.</summary>
internal sealed class CoverReader(SchoolDb db, PictureLoader pictures, PupilBook pupils, PupilTimes times, CarPark cars, SchoolInfo school, IClock clock)
{
    /// <summary>Null when no booked lesson still to start is touched.</summary>
    public async Task<CoverReading?> ReadAsync(CoverPlan plan, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var lessons = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.StartsAt > now && l.StartsAt < plan.EndsAt && l.EndsAt > plan.StartsAt
                && (plan.InstructorId == null || l.InstructorId == plan.InstructorId) && (plan.CarId == null || l.CarId == plan.CarId))
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
        if (lessons.Count == 0)
        {
            return null;
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        var (from, to) = (lessons[0].StartsAt.InZone(zone).Date, lessons[^1].StartsAt.InZone(zone).Date);
        var loaded = await pictures.LoadAsync(from, to, only: null, cancel);
        var cards = await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel);
        var facts = await pictures.PupilsAsync([.. cards.Values], from, to, cancel);
        var recorded = await times.ReadAsync(lessons.Select(l => l.PupilId), cancel);
        var problem = new CoverProblem(Absent(plan, loaded.Picture), [.. lessons.Select(l => new CoverLesson(
            l.Id, l.InstructorId, facts[l.PupilId], l.During, l.PickUp.At(), l.DropOff.At(), CoverWindows.Of(l, recorded[l.PupilId], plan.MayMoveMinutes, zone)))]);
        return new(lessons, problem, loaded, await SeenAsync(from, to, zone, lessons, cancel));
    }

    private static DiaryPicture Absent(CoverPlan plan, DiaryPicture picture) => picture with
    {
        Instructors = [.. picture.Instructors.Select(diary =>
            diary.Instructor.Id == plan.InstructorId ? diary with { TimeOff = [.. diary.TimeOff, plan.During] } : diary)],
        Cars = [.. picture.Cars.Select(car => car.Id == plan.CarId ? car with { OffRoad = [.. car.OffRoad, plan.During] } : car)],
    };

    private async Task<string> SeenAsync(LocalDate from, LocalDate to, DateTimeZone zone, List<Lesson> affected, CancellationToken cancel)
    {
        var (start, end) = (zone.AtStartOfDay(from).ToInstant(), zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => l.State != LessonState.Cancelled && l.StartsAt < end && l.EndsAt > start)
            .OrderBy(l => l.Id).Select(l => new { l.Id, l.Version }).ToListAsync(cancel);
        var timeOff = await db.Set<TimeOffRow>().AsNoTracking().Where(o => o.StartsAt < end && o.EndsAt > start)
            .OrderBy(o => o.Id).Select(o => new { o.Id, o.Version }).ToListAsync(cancel);
        var tests = await db.Set<TestDay>().AsNoTracking().Where(t => t.State != TestDayState.TakenOff && t.BlockedFrom < end && t.BlockedUntil > start)
            .OrderBy(t => t.Id).Select(t => new { t.Id, t.Version }).ToListAsync(cancel);
        var hours = await db.Set<WorkingHoursRow>().AsNoTracking().OrderBy(h => h.Id).Select(h => new { h.Id, h.Version }).ToListAsync(cancel);
        var park = await cars.ReadAsync(zone, alsoRetired: false, cancel);
        var text = new StringBuilder();
        text.AppendJoin(';', affected.Select(l => l.Id)).Append('|').AppendJoin(';', lessons).Append('|').AppendJoin(';', timeOff).Append('|').AppendJoin(';', tests).Append('|').AppendJoin(';', hours)
            .Append('|').AppendJoin(';', park.Holds.OrderBy(h => h.CarId).ThenBy(h => h.InstructorId).ThenBy(h => h.During.Start))
            .Append('|').AppendJoin(';', park.Cars.OrderBy(c => c.Id).Select(c => string.Create(CultureInfo.InvariantCulture, $"{c.Facts} {string.Join(',', c.Facts.OffRoad)}")));
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text.ToString())));
    }
}
