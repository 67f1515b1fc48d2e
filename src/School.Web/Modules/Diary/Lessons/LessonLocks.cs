using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>One date of one instructor's diary.</summary>
internal readonly record struct DiaryDay(Guid InstructorId, LocalDate Date);

/// <summary>
/// The locks under which a lesson is checked and written: the pupil, each instructor's day, and the cars held or used on it.
/// Whatever decides about a start stands on that date, so two who want the same room wait for each other and nobody else does.
/// </summary>
internal sealed class LessonLocks(SchoolDb db, CarPark cars, SchoolInfo school)
{
    /// <summary>Takes them all at once, in one order. Read what the check needs only afterwards.</summary>
    public Task TakeAsync(Guid pupilId, IReadOnlyCollection<DiaryDay> days, IEnumerable<Guid> carsInUse, CancellationToken cancel) =>
        TakeAsync([pupilId], days, carsInUse, cancel);

    /// <summary>The same for lessons of several pupils, with other locks that the transaction needs.</summary>
    public async Task TakeAsync(
        IEnumerable<Guid> pupilIds, IReadOnlyCollection<DiaryDay> days, IEnumerable<Guid> carsInUse, CancellationToken cancel, IEnumerable<string>? others = null)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var holds = (await cars.ReadAsync(zone, alsoRetired: false, cancel)).Holds;
        await db.LockAsync([.. NamesOf(pupilIds, days, carsInUse, holds, zone), .. others ?? []], cancel);
    }

    /// <summary>Who books a kind of lesson, and who takes it off the list.</summary>
    public static string Of(LessonKind kind) => $"lesson-kind:{kind}";

    public static List<string> NamesOf(
        IEnumerable<Guid> pupilIds, IReadOnlyCollection<DiaryDay> days, IEnumerable<Guid> carsInUse, IEnumerable<CarHold> holds, DateTimeZone zone)
    {
        var inUse = carsInUse.ToList();
        var names = pupilIds.Select(id => $"pupil:{id}").ToList();
        foreach (var day in days)
        {
            var noon = zone.AtStartOfDay(day.Date).ToInstant() + Duration.FromHours(12);
            names.Add($"instructor-day:{day.InstructorId}:{day.Date:uuuu-MM-dd}");
            names.AddRange(holds
                .Where(hold => hold.InstructorId == day.InstructorId && hold.During.Contains(noon)).Select(hold => hold.CarId)
                .Concat(inUse).Select(car => $"car-day:{car}:{day.Date:uuuu-MM-dd}"));
        }

        return names;
    }
}
