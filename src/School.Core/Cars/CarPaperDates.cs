using NodaTime;
using School.Core.Papers;

namespace School.Core.Cars;

/// <summary>A car's papers in the one shape that all papers have.</summary>
public static class CarPaperDates
{
    private static readonly LocalDate Read = new(2026, 11, 25);

    private static readonly PaperSource Mot = new("gov.uk/getting-an-mot", Read);

    private static readonly PaperSource HighwayCode = new("The Highway Code, Annex 3", new(2024, 6, 20));

    private static readonly PaperSource Own = new("The school's own", Read);

    /// <summary>Each whose date is followed here, and the MOT or the time before the first.</summary>
    public static IReadOnlyList<Paper> Of(CarFacts car)
    {
        ArgumentNullException.ThrowIfNull(car);
        return
        [
            // The time before the first MOT begins with the car. A certificate begins on the day of its test, which is not kept: it ends a year later, or up to a
            // month more where the date was kept. So of it, as of the others, only the end is known.
            Paper(PaperKind.Mot, car.MotGoodUntil, Mot) with { From = car.IsBeforeFirstMot ? car.FirstRegistered : null },
            .. car.TaxExpires is { } tax ? [Paper(PaperKind.Tax, tax, HighwayCode)] : Array.Empty<Paper>(),
            .. car.InsuranceExpires is { } insurance ? [Paper(PaperKind.Insurance, insurance, HighwayCode)] : Array.Empty<Paper>(),
            .. car.ServiceDue is { } service ? [Paper(PaperKind.Service, service, Own)] : Array.Empty<Paper>(),
        ];

        Paper Paper(PaperKind kind, LocalDate until, PaperSource source) => new(PaperHolder.Car, car.Id, kind, null, until, PaperStops.Car, source);
    }
}
