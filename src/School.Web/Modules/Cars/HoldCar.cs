using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>Who gets the car, and on which days; without a last day it is theirs until somebody ends it.</summary>
internal sealed record HoldingInput([property: Needed] Guid? InstructorId, [property: Needed] LocalDate? From, LocalDate? To);

/// <summary>
/// Gives the car to an instructor. Dated days cut a standing holding in two around them; a new standing holding leaves out the
/// days that are promised already. Anything else that overlaps is refused.
/// </summary>
internal sealed class HoldCar(SchoolDb db, InstructorBook instructors, Audit audit)
{
    private static readonly LocalDatePattern Day = LocalDatePattern.CreateWithInvariantCulture("d MMMM yyyy");

    /// <summary>Changes of one car's holdings happen one after the other.</summary>
    public static string LockOf(Guid carId) => $"car-holdings:{carId}";

    public Task<Outcome<Holding>> RunAsync(Viewer viewer, Guid carId, HoldingInput input, CancellationToken cancel) => db.InTransactionAsync<Holding>(async cancel =>
    {
        await db.LockAsync([LockOf(carId)], cancel);
        var car = await db.Set<Car>().Include(c => c.Holdings).SingleOrDefaultAsync(c => c.Id == carId, cancel);
        if (car is null)
        {
            return Refusal.NotFound("car");
        }

        var instructor = input.InstructorId is { } id ? await instructors.FindAsync(id, cancel) : null;
        var wrong = new FieldErrors()
            .When(instructor is null || instructor.RetiredOn is not null, nameof(input.InstructorId), "Choose an instructor of the school.")
            .When(input.From is null, nameof(input.From), "Enter the first day.")
            .When(input.From < car.FirstRegistered, nameof(input.From), $"The car was first registered on {Day.Format(car.FirstRegistered)}.")
            .When(input.To < input.From, nameof(input.To), "The last day lies before the first.")
            .ToRefusal();
        if (wrong is not null)
        {
            return wrong;
        }

        if (car.RetiredOn is { } retired)
        {
            return Refusal.Rule("car_retired", $"This car was retired on {Day.Format(retired)}.");
        }

        var (from, to) = (input.From!.Value, input.To);
        var overlapping = car.Holdings.Where(h => (h.To is null || h.To >= from) && (to is null || h.From <= to)).OrderBy(h => h.From).ToList();
        if (overlapping.Find(h => h.Standing ? to is null || h.InstructorId == instructor!.Id : to is not null) is { } other)
        {
            var names = await instructors.NamesAsync(cancel);
            return Refusal.Conflict("car_held", $"{names[other.InstructorId]} holds this car {Days(other)}. End that first, or choose other dates.");
        }

        var pieces = to is { } last ? CutOut(car, overlapping, from, last) : [];
        pieces.AddRange(to is null ? Around(overlapping, carId, instructor!.Id, from) : [Piece(carId, instructor!.Id, from, to, standing: false)]);
        await db.SaveChangesAsync(cancel); // the cut comes first, or the pieces would meet what they replace
        db.AddRange(pieces);
        var days = Days(Piece(carId, instructor!.Id, from, to, standing: false));
        audit.Note(viewer, "car.hold", carId, $"Gave the {car.Label} to {instructor.Name} {days}.");
        return pieces.Find(p => p.InstructorId == instructor.Id)!;
    }, cancel);

    private static List<Holding> CutOut(Car car, List<Holding> standing, LocalDate from, LocalDate to)
    {
        var pieces = new List<Holding>();
        foreach (var whole in standing)
        {
            if (whole.To is null || whole.To > to)
            {
                pieces.Add(Piece(car.Id, whole.InstructorId, to.PlusDays(1), whole.To, standing: true));
            }

            if (whole.From < from)
            {
                whole.To = from.PlusDays(-1);
            }
            else
            {
                car.Holdings.Remove(whole);
            }
        }

        return pieces;
    }

    private static List<Holding> Around(List<Holding> promised, Guid carId, Guid instructorId, LocalDate from)
    {
        var pieces = new List<Holding>();
        foreach (var holding in promised)
        {
            if (holding.From > from)
            {
                pieces.Add(Piece(carId, instructorId, from, holding.From.PlusDays(-1), standing: true));
            }

            from = holding.To!.Value.PlusDays(1);
        }

        pieces.Add(Piece(carId, instructorId, from, null, standing: true));
        return pieces;
    }

    private static Holding Piece(Guid carId, Guid instructorId, LocalDate from, LocalDate? to, bool standing) =>
        new() { CarId = carId, InstructorId = instructorId, From = from, To = to, Standing = standing };

    private static string Days(Holding holding) =>
        holding.To is { } to ? $"from {Day.Format(holding.From)} to {Day.Format(to)}" : $"from {Day.Format(holding.From)} on";
}
