using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>Finds whose days a filter asks for, so that no others are read.</summary>
internal sealed class FindShown(SchoolDb db, PictureLoader pictures, InstructorBook instructors, CarPark carPark, AreaBook areas, SchoolInfo school)
{
    /// <param name="asked">The filter.</param>
    /// <param name="choose">Whether its fields are shown, with all that may be chosen.</param>
    /// <param name="from">First date.</param>
    /// <param name="to">Last date.</param>
    /// <param name="cancel">Cancels.</param>
    public async Task<ShownInstructors> ReadAsync(ShownOnly asked, bool choose, LocalDate from, LocalDate to, CancellationToken cancel)
    {
        if (!asked.IsAsked && !choose)
        {
            return new(asked, null, "");
        }

        await pictures.AheadAsync(cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        var all = await instructors.ListAsync(alsoRetired: true, cancel);
        var park = await carPark.ReadAsync(zone, alsoRetired: false, cancel);
        var known = asked.Area is not null || choose ? await areas.ListAsync(cancel) : [];
        var period = new Interval(zone.AtStartOfDay(from).ToInstant(), zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
        HashSet<Guid>? drivers = asked.Car is { } car ? [.. await DriversAsync(car, park.Holds, period, cancel)] : null;
        IReadOnlyCollection<Guid>? ids = !asked.IsAsked ? null :
        [
            .. all.Where(card => (asked.Area is null || card.Facts.ServesPlaceIn(asked.Area)) && (asked.Gearbox is not { } gearbox || card.Facts.Teaches.Contains(gearbox))
                && (asked.Group is not { } group || card.Facts.Kind == group) && drivers?.Contains(card.Id) is not false).Select(card => card.Id),
        ];
        return new(asked, ids, string.Join("; ", Said(asked, known, park.Cars)))
        {
            Choices = !choose ? [] :
            [
                new("area", "Area", "Any area", [.. known.Select(area => (area.Id.ToString(), area.Name))], asked.Area?.ToString()),
                new("gearbox", "Gearbox", "Any gearbox", [.. Enum.GetValues<Gearbox>().Select(gearbox => (gearbox.ToString(), gearbox.Words()))], asked.Gearbox?.ToString()),
                new("car", "Car", "Any car", [.. park.Cars.Select(car => (car.Id.ToString(), car.Label))], asked.Car?.ToString()),
                new("group", "Instructors", "All instructors", [.. Enum.GetValues<RegistrationKind>().Select(kind => (kind.ToString(), Group(kind)))], asked.Group?.ToString()),
            ],
        };
    }

    // Who holds it, and who teaches in it all the same.
    private async Task<IEnumerable<Guid>> DriversAsync(Guid car, IReadOnlyList<CarHold> holds, Interval period, CancellationToken cancel)
    {
        var (start, end, earliest) = (period.Start, period.End, period.Start - Lesson.Longest);
        var teaching = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.CarId == car && l.State != Contracts.LessonState.Cancelled && l.StartsAt > earliest && l.StartsAt < end && l.EndsAt > start).Select(l => l.InstructorId).Distinct().ToListAsync(cancel);
        return holds.Where(hold => hold.CarId == car && (!hold.During.HasStart || hold.During.Start < end) && (!hold.During.HasEnd || hold.During.End > start))
            .Select(hold => hold.InstructorId).Concat(teaching);
    }

    private static IEnumerable<string> Said(ShownOnly asked, IReadOnlyList<AreaCard> areas, IReadOnlyList<CarCard> cars)
    {
        if (asked.Area is { } area)
        {
            yield return areas.FirstOrDefault(card => card.Id == area) is { } known ? $"who serve {known.Name}" : "an area that is not there any more";
        }

        if (asked.Gearbox is { } gearbox)
        {
            yield return $"who teach {(gearbox is Gearbox.Manual ? "manual" : "automatic")}";
        }

        if (asked.Car is { } car)
        {
            yield return cars.FirstOrDefault(card => card.Id == car) is { } known ? $"who have {known.Label}" : "a car that is not there any more";
        }

        if (asked.Group is { } group)
        {
            yield return group is RegistrationKind.Trainee ? "trainees" : "approved instructors";
        }
    }

    private static string Group(RegistrationKind kind) => kind is RegistrationKind.Trainee ? "Trainees" : "Approved instructors";
}
