using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Covers;

/// <summary>Where cover is asked for, and what the lesson cannot take place for: its key, and in words.</summary>
internal sealed record CoverCure(string Href, string Cause, string Words);

/// <summary>Where cover would cure a lesson that cannot take place: somebody else gives it, or it is given in another car.</summary>
internal sealed class CoverCures(SchoolDb db, CarPark cars, SchoolInfo school)
{
    /// <summary>By lesson, the address at which cover is asked for just the time in question.</summary>
    public async Task<IReadOnlyDictionary<Guid, CoverCure>> OfAsync(IReadOnlyList<ImpossibleBooking> impossible, CancellationToken cancel)
    {
        var wanted = impossible.Where(one => IsInstructor(one.Refusal.Rule) || IsCar(one.Refusal.Rule)).ToList();
        if (wanted.Count == 0)
        {
            return new Dictionary<Guid, CoverCure>();
        }

        var ids = wanted.Select(one => one.LessonId).ToArray();
        var who = wanted.Select(one => one.InstructorId).Distinct().ToArray();
        var (first, last) = (wanted.Min(one => one.StartsAt), wanted.Max(one => one.StartsAt) + Lesson.Longest);
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToDictionaryAsync(l => l.Id, cancel);
        var off = await db.Set<TimeOffRow>().AsNoTracking().Where(o => who.Contains(o.InstructorId) && o.StartsAt < last && o.EndsAt > first).ToListAsync(cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        var park = (await cars.ReadAsync(zone, alsoRetired: true, cancel)).Cars.ToDictionary(car => car.Id);
        return wanted.Where(one => lessons.ContainsKey(one.LessonId)).ToDictionary(one => one.LessonId, one => Of(one, lessons[one.LessonId], off, park, zone));
    }

    private static CoverCure Of(ImpossibleBooking one, Lesson lesson, List<TimeOffRow> off, Dictionary<Guid, CarCard> park, DateTimeZone zone)
    {
        // Cover is asked for a fortnight at most: what began long before would leave the lesson out.
        var midnight = zone.AtStartOfDay(lesson.StartsAt.InZone(zone).Date).ToInstant();
        if (IsCar(one.Refusal.Rule))
        {
            var car = park.GetValueOrDefault(lesson.CarId);
            var away = car?.Facts.OffRoad.Where(p => p.HasStart && p.Start < lesson.EndsAt && (!p.HasEnd || p.End > lesson.StartsAt)).Select(p => (Interval?)p).FirstOrDefault();
            return away is { } period
                ? new(
                    CoverLink.ForCar(lesson.CarId, new(Instant.Max(period.Start, midnight), period.HasEnd ? period.End : lesson.EndsAt)),
                    $"off_road:{lesson.CarId}:{period.Start}", $"The {car!.Label} is off the road")
                : new(CoverLink.ForCar(lesson.CarId, lesson.During), $"car:{lesson.CarId}:{one.Refusal.Telling.ToStaff}", $"{car?.Label ?? "A car"}: {one.Refusal.Telling.ToStaff.TrimEnd('.')}");
        }

        var (cause, words) = one.Refusal.Rule is SlotRule.OutsideWorkingHours
            ? ($"hours:{lesson.InstructorId}", $"{one.InstructorName} does not work then") : ($"registration:{lesson.InstructorId}", $"{one.InstructorName} may not teach then");
        return off.Find(o => o.InstructorId == lesson.InstructorId && o.StartsAt < lesson.EndsAt && o.EndsAt > lesson.StartsAt) is { } gone
            ? new(
                CoverLink.ForInstructor(lesson.InstructorId, new(Instant.Max(gone.StartsAt, midnight), gone.EndsAt), gone.Reason), $"time_off:{gone.Id}",
                gone.Reason.Length > 0 ? $"{one.InstructorName} is off ({gone.Reason})" : $"{one.InstructorName} is off")
            : new(CoverLink.ForInstructor(lesson.InstructorId, lesson.During), cause, words);
    }

    private static bool IsInstructor(SlotRule rule) => rule is SlotRule.TimeOff or SlotRule.InstructorNotRegistered or SlotRule.OutsideWorkingHours;

    private static bool IsCar(SlotRule rule) => rule is SlotRule.NoSuitableCar;
}
