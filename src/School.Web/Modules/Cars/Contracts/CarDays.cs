using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars.Contracts;

/// <summary>Days on which somebody holds a car.</summary>
/// <param name="Id">The holding.</param>
/// <param name="InstructorId">Who holds it.</param>
/// <param name="From">First day.</param>
/// <param name="To">Last day, included; null until somebody ends it.</param>
/// <param name="Standing">Whether it is theirs until further notice, and not promised for those days by name.</param>
internal sealed record HeldDays(Guid Id, Guid InstructorId, LocalDate From, LocalDate? To, bool Standing)
{
    public bool Covers(LocalDate date) => From <= date && !(To < date);
}

/// <summary>A car as the giving out of cars needs it.</summary>
/// <param name="Id">The car.</param>
/// <param name="Facts">What it can do and when it is off the road.</param>
/// <param name="Holdings">Who holds it when.</param>
/// <param name="Mark">Another whenever the car, its holdings or its times off the road have changed.</param>
internal sealed record CarToGive(Guid Id, CarFacts Facts, IReadOnlyList<HeldDays> Holdings, string Mark);

/// <summary>Who holds which car on which days, for whoever gives cars out.</summary>
internal sealed class CarDays(SchoolDb db, HoldCar hold, SchoolInfo school)
{
    /// <summary>Changes of one car's holdings happen one after the other.</summary>
    public static string LockOf(Guid carId) => HoldCar.LockOf(carId);

    /// <summary>The cars of the school, by label.</summary>
    public async Task<IReadOnlyList<CarToGive>> ReadAsync(CancellationToken cancel)
    {
        var rows = await db.Set<Car>().AsNoTracking().AsSplitQuery().Include(c => c.OffRoad).Include(c => c.Holdings)
            .Where(c => c.RetiredOn == null).OrderBy(c => c.Label).ThenBy(c => c.Id).ToListAsync(cancel);
        var years = (await school.GetAsync(cancel)).FirstMotYears;
        return rows.ConvertAll(car => new CarToGive(
            car.Id,
            car.Facts([.. car.OffRoad.Select(o => new Interval(o.StartsAt, o.EndsAt))], years),
            [.. car.Holdings.Select(h => new HeldDays(h.Id, h.InstructorId, h.From, h.To, h.Standing))],
            Mark(car)));
    }

    /// <summary>Gives a car for some days, both included, in the caller's transaction.</summary>
    public async Task<Refusal?> GiveAsync(Viewer viewer, Guid carId, Guid instructorId, LocalDate from, LocalDate to, CancellationToken cancel) =>
        await hold.RunAsync(viewer, carId, new(instructorId, from, to), cancel) is { Ok: false } refused ? refused.Refusal : null;

    private static string Mark(Car car) =>
        $"{car.Id}{car.Version}{string.Join(',', car.Holdings.OrderBy(h => h.Id).Select(h => $"{h.Id}{h.From}{h.To}"))}"
        + string.Join(',', car.OffRoad.OrderBy(o => o.Id).Select(o => $"{o.Id}{o.StartsAt}{o.EndsAt}"));
}
