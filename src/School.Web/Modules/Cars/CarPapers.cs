using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Cars;

/// <summary>Papers of cars that run out or have run out.</summary>
internal sealed class CarPapers(CarPark carPark, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "car_paper";

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var cars = (await carPark.ReadAsync(facts.Zone, alsoRetired: false, cancel)).Cars;
        return
        [
            .. from car in cars
               from paper in Papers(car)
               where paper.Date <= today.PlusDays(PaperDates.DaysAhead)
               select new AttentionItem(Kind, AttentionHeading.Papers, $"{paper.What} {PaperDates.Runs(paper.Date, today)}", $"/cars/{car.Id}", paper.Date),
        ];
    }

    private static IEnumerable<(string What, LocalDate Date)> Papers(CarCard car)
    {
        var name = $"The {car.Label} ({car.Plate})";
        // Until its first MOT a car needs none; from that day on it does.
        yield return car.Facts.MotExpires is { } mot
            ? ($"{name}: the MOT", mot)
            : ($"{name}: the time before its first MOT", car.Facts.MotNeededFrom.PlusDays(-1));
        if (car.Facts.TaxExpires is { } tax)
        {
            yield return ($"{name}: vehicle tax", tax);
        }

        if (car.Facts.InsuranceExpires is { } insurance)
        {
            yield return ($"{name}: insurance", insurance);
        }

        if (car.Facts.ServiceDue is { } service)
        {
            yield return ($"{name}: the time to its service", service);
        }
    }
}
