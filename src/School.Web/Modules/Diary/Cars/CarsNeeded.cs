using NodaTime;
using School.Core.Cars;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Cars;

/// <summary>One instructor's lessons of one date in one gearbox, and the car for them.</summary>
/// <param name="Date">The local date. A car is given for whole days, as holdings are.</param>
/// <param name="InstructorId">Who teaches.</param>
/// <param name="Gearbox">The gearbox of the pupils.</param>
/// <param name="NeedsDualControls">Whether one of the pupils needs dual controls.</param>
/// <param name="Teaching">From the start of the first lesson to the end of the last.</param>
/// <param name="Lessons">The lessons.</param>
/// <param name="HasCarId">The car that the instructor holds for them so far.</param>
/// <param name="CarId">The car proposed; null when there is none.</param>
internal sealed record AllocationLine(
    LocalDate Date, Guid InstructorId, Gearbox Gearbox, bool NeedsDualControls, Interval Teaching, IReadOnlyList<LessonInCar> Lessons, Guid? HasCarId, Guid? CarId)
{
    public bool IsChange => CarId is { } car && (car != HasCarId || Lessons.Any(l => l.CarId != car));
}

/// <summary>Too few cars on a date.</summary>
internal sealed record AllocationShortage(LocalDate Date, Gearbox Gearbox, bool DualControls, int Needed, int InDate, IReadOnlyList<AllocationLine> For)
{
    /// <summary>Whether all teach at one time; if not, they still want a car each, since a car is given for the whole day.</summary>
    public bool AtOnce => For.Max(line => line.Teaching.Start) < For.Min(line => line.Teaching.End);

    /// <summary>While all teach; from the first to the last of them where there is no such time.</summary>
    public Interval Hours => AtOnce
        ? new(For.Max(line => line.Teaching.Start), For.Min(line => line.Teaching.End))
        : new(For.Min(line => line.Teaching.Start), For.Max(line => line.Teaching.End));
}

/// <summary>A proposal for a period.</summary>
/// <param name="Lines">By date and start.</param>
/// <param name="Missing">By date.</param>
/// <param name="IsProven">Whether nothing can be better.</param>
internal sealed record AllocationProposal(IReadOnlyList<AllocationLine> Lines, IReadOnlyList<AllocationShortage> Missing, bool IsProven);

/// <summary>Works out who gets which car in a period, so that every booked lesson has one of the right gearbox, in date and on the road.</summary>
internal sealed class CarsNeeded(CarDays carDays, LessonCars lessonCars, PupilBook pupils, SchoolInfo school)
{
    public async Task<AllocationProposal> ProposeAsync(LocalDate from, LocalDate to, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var lessons = await lessonCars.BookedAsync(from, to, cancel);
        var cards = await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel);
        var rows = await carDays.ReadAsync(cancel);
        var lines = lessons
            .GroupBy(l => (Date: l.StartsAt.InZone(zone).Date, l.InstructorId, cards[l.PupilId].Gearbox))
            .Select(day => Line(day.Key.Date, day.Key.InstructorId, day.Key.Gearbox, [.. day], day.Any(l => cards[l.PupilId].NeedsDualControls), rows))
            .OrderBy(line => line.Date).ThenBy(line => line.Teaching.Start).ThenBy(line => line.InstructorId).ToList();

        // Days promised to somebody by name are kept: they meet that instructor's need, and nobody else gets the car then.
        var met = lines.Select(line => PromisedTo(line, rows)).ToList();
        var needs = lines.Select((line, index) => (line, index)).Where(pair => met[pair.index] is null).ToDictionary(
            pair => new Guid(pair.index, 0, 0, new byte[8]), pair => pair.index);
        var answer = CarAllocation.Propose(new(
            zone,
            [.. rows.Select(car => Facts(car, lines, zone, from, to))],
            [.. needs.Select(need => Need(need.Key, lines[need.Value], zone))]));
        foreach (var (need, index) in needs)
        {
            lines[index] = lines[index] with { CarId = answer.Given.TryGetValue(need, out var car) ? car : null };
        }

        for (var index = 0; index < lines.Count; index++)
        {
            lines[index] = met[index] is { } promised ? lines[index] with { CarId = promised } : lines[index];
        }

        var missing = answer.Missing.Select(shortage => new AllocationShortage(
            shortage.During.Start.InZone(zone).Date, shortage.Gearbox, shortage.DualControls, shortage.Needed, shortage.InDate,
            [.. shortage.NeedIds.Select(id => lines[needs[id]]).OrderBy(line => line.Teaching.Start).ThenBy(line => line.InstructorId)]));
        return new(lines, [.. missing], answer.IsProven);
    }

    private static AllocationLine Line(LocalDate date, Guid instructor, Gearbox gearbox, List<LessonInCar> lessons, bool dual, IReadOnlyList<CarToGive> cars)
    {
        var teaching = new Interval(lessons.Min(l => l.StartsAt), lessons.Max(l => l.EndsAt));
        var held = cars.Where(car => car.Facts.Gearbox == gearbox && car.Holdings.Any(h => h.InstructorId == instructor && h.Covers(date)))
            .OrderByDescending(car => Suits(car.Facts, date, dual, teaching)).ThenByDescending(car => lessons.Count(l => l.CarId == car.Id)).ThenBy(car => car.Id);
        return new(date, instructor, gearbox, dual, teaching, lessons, held.FirstOrDefault()?.Id, null);
    }

    private static CarNeed Need(Guid id, AllocationLine line, DateTimeZone zone) =>
        new(id, line.InstructorId, Day(line.Date, zone), line.Gearbox, line.NeedsDualControls, line.HasCarId);

    private static Guid? PromisedTo(AllocationLine line, IReadOnlyList<CarToGive> cars) => cars
        .FirstOrDefault(car => car.Facts.Gearbox == line.Gearbox && Suits(car.Facts, line.Date, line.NeedsDualControls, line.Teaching)
            && car.Holdings.Any(h => !h.Standing && h.InstructorId == line.InstructorId && h.Covers(line.Date)))?.Id;

    private static bool Suits(CarFacts facts, LocalDate date, bool dual, Interval teaching) =>
        (facts.DualControls || !dual) && facts.WhyNotOn(date) is null && !facts.IsOffRoad(teaching);

    /// <summary>The car with whole days off: those on which it is off the road while anybody teaches in its gearbox, and those promised.</summary>
    private static CarFacts Facts(CarToGive car, List<AllocationLine> lines, DateTimeZone zone, LocalDate from, LocalDate to)
    {
        var facts = car.Facts;
        var off = lines.Where(line => line.Gearbox == car.Facts.Gearbox && facts.IsOffRoad(line.Teaching)).Select(line => line.Date).ToHashSet();
        for (var date = from; date <= to; date = date.PlusDays(1))
        {
            if (car.Holdings.Any(h => !h.Standing && h.Covers(date)))
            {
                off.Add(date);
            }
        }

        return facts with { OffRoad = [.. off.Order().Select(date => Day(date, zone))] };
    }

    private static Interval Day(LocalDate date, DateTimeZone zone) => new(zone.AtStartOfDay(date).ToInstant(), zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
}
