using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Cars;

/// <summary>
/// Ends a holding after a last day, yesterday unless another is named. Days to come are given back to the standing holder they
/// were cut out of; days that were held stay as history.
/// </summary>
internal sealed class EndHolding(SchoolDb db, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(Viewer viewer, Guid carId, Guid holdingId, LocalDate? lastDay, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        await db.LockAsync([HoldCar.LockOf(carId)], cancel);
        var car = await db.Set<Car>().Include(c => c.Holdings).SingleOrDefaultAsync(c => c.Id == carId, cancel);
        if (car?.Holdings.Find(h => h.Id == holdingId) is not { } holding)
        {
            return Refusal.NotFound("holding");
        }

        var yesterday = (await school.GetAsync(cancel)).Today(clock).PlusDays(-1);
        var last = lastDay ?? yesterday;
        if (last < yesterday)
        {
            return Refusal.Invalid("LastDay", "The last day lies in the past. Days that were held stay as history.");
        }

        if (holding.To <= last)
        {
            return Refusal.Rule("holding_over", "This holding is over by then already.");
        }

        var (freed, until) = (LocalDate.Max(holding.From, last.PlusDays(1)), holding.To);
        if (holding.From > last)
        {
            car.Holdings.Remove(holding);
        }
        else
        {
            holding.To = last;
        }

        if (!holding.Standing)
        {
            await GiveBackAsync(car, freed, until!.Value, cancel);
        }

        audit.Note(viewer, "car.end_holding", carId, $"Ended a holding of the {car.Label} after {ScreenWords.DayAndYear(last)}.");
        return car;
    }, cancel);

    private async Task GiveBackAsync(Car car, LocalDate from, LocalDate to, CancellationToken cancel)
    {
        if (car.Holdings.Find(h => h.Standing && h.From == to.PlusDays(1)) is not { } after)
        {
            return;
        }

        car.Holdings.Remove(after);
        await db.SaveChangesAsync(cancel); // room first, or the longer piece would meet what it replaces
        if (car.Holdings.Find(h => h.Standing && h.To == from.PlusDays(-1) && h.InstructorId == after.InstructorId) is { } before)
        {
            before.To = after.To;
        }
        else
        {
            db.Add(new Holding { CarId = car.Id, InstructorId = after.InstructorId, From = from, To = after.To });
        }
    }
}
