using NodaTime;
using School.Core.Cars;
using School.Core.Papers;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Cars;

/// <summary>The papers of the cars that are driven.</summary>
internal sealed class CarPapers(CarPark carPark, SchoolInfo school) : IHoldPapers
{
    public const string Kind = "car_paper";

    public async Task<IReadOnlyList<HeldPaper>> ListAsync(LocalDate today, CancellationToken cancel)
    {
        var cars = (await carPark.ReadAsync((await school.GetAsync(cancel)).Zone, alsoRetired: false, cancel)).Cars;
        return [.. from car in cars from paper in CarPaperDates.Of(car.Facts) select Of(car, paper, today)];
    }

    private static HeldPaper Of(CarCard car, Paper paper, LocalDate today)
    {
        var (name, seen, field) = ($"{car.Label} ({car.Plate})", SeenOf(car.Seen, paper.Kind), FieldOf(paper.Kind));
        return new(paper with { SeenOn = seen.On, SeenBy = seen.By }, name, $"/cars/{car.Id}", $"/cars/{car.Id}/change#Input_{field}")
        {
            Heed = ToHeed(car, paper, today) is { } last
                ? new(Kind, AttentionHeading.Papers, $"The {name}: {WordsOf(car, paper, last)} {PaperDates.Runs(last, today)}", $"/cars/{car.Id}", last)
                : null,
        };
    }

    /// <summary>The day that is told; null while there is nothing to do. A certificate from before the law asks for one is told while it still stands.</summary>
    private static LocalDate? ToHeed(CarCard car, Paper paper, LocalDate today) =>
        paper.StateOn(today) is PaperState.EndsSoon or PaperState.Ended ? paper.Until
        : paper.Kind == PaperKind.Mot && car.Facts.MotExpires is { } early && early >= today && early <= today.PlusDays(PaperDates.DaysAhead) ? early
        : null;

    private static Sighting SeenOf(CarSightings seen, PaperKind kind) => kind switch
    {
        PaperKind.Tax => seen.Tax,
        PaperKind.Insurance => seen.Insurance,
        PaperKind.Service => seen.Service,
        PaperKind.Mot => seen.Mot,
        PaperKind.Licence or PaperKind.ProvisionalLicence or PaperKind.DrivingRecord or PaperKind.Theory or PaperKind.Eyesight or PaperKind.Registration or PaperKind.TraineeLicence => throw NotACars(kind),
    };

    private static string WordsOf(CarCard car, Paper paper, LocalDate last) => paper.Kind switch
    {
        PaperKind.Tax => "vehicle tax",
        PaperKind.Insurance => "insurance",
        PaperKind.Service => "the time to its service",
        // Until its first MOT a car needs none; from that day on it does.
        PaperKind.Mot => car.Facts.MotExpires == last ? "the MOT" : "the time before its first MOT",
        PaperKind.Licence or PaperKind.ProvisionalLicence or PaperKind.DrivingRecord or PaperKind.Theory or PaperKind.Eyesight or PaperKind.Registration or PaperKind.TraineeLicence => throw NotACars(paper.Kind),
    };

    private static string FieldOf(PaperKind kind) => kind switch
    {
        PaperKind.Tax => nameof(CarInput.TaxExpires),
        PaperKind.Insurance => nameof(CarInput.InsuranceExpires),
        PaperKind.Service => nameof(CarInput.ServiceDue),
        PaperKind.Mot => nameof(CarInput.MotExpires),
        PaperKind.Licence or PaperKind.ProvisionalLicence or PaperKind.DrivingRecord or PaperKind.Theory or PaperKind.Eyesight or PaperKind.Registration or PaperKind.TraineeLicence => throw NotACars(kind),
    };

    private static InvalidOperationException NotACars(PaperKind kind) => new($"No car has a {kind}.");
}
