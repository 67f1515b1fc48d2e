using NodaTime;

namespace School.Core.Cars;

/// <summary>What the diary needs to know about a car.</summary>
/// <remarks>
/// A date of expiry is the last day on which the paper is good. Tax, insurance or service without a date is not
/// followed here and never stands in the way; an MOT without a date does, once the law asks for one.
/// </remarks>
/// <param name="Id">The car.</param>
/// <param name="Gearbox">Manual or automatic.</param>
/// <param name="DualControls">Whether the instructor has pedals too.</param>
/// <param name="FirstRegistered">Date of first registration.</param>
/// <param name="MotExpires">Last day of the current MOT certificate, if it has had one.</param>
/// <param name="TaxExpires">Last day of vehicle tax, if followed.</param>
/// <param name="InsuranceExpires">Last day of insurance, if followed.</param>
/// <param name="ServiceDue">Last day on which it may be taught in before its service, if followed.</param>
/// <param name="OffRoad">Periods in the workshop or otherwise not to be driven; half-open, may be open-ended.</param>
public sealed record CarFacts(
    Guid Id,
    Gearbox Gearbox,
    bool DualControls,
    LocalDate FirstRegistered,
    LocalDate? MotExpires,
    LocalDate? TaxExpires,
    LocalDate? InsuranceExpires,
    LocalDate? ServiceDue,
    IReadOnlyList<Interval> OffRoad)
{
    /// <summary>Years after which a car needs its first MOT in Great Britain (https://www.gov.uk/getting-an-mot).</summary>
    public const int FirstMotInGreatBritain = 3;

    /// <summary>The same in Northern Ireland (nidirect.gov.uk, motor vehicle documentation).</summary>
    public const int FirstMotInNorthernIreland = 4;

    /// <summary>Years after its registration from which the car needs an MOT certificate.</summary>
    public int FirstMotYears { get; init; } = FirstMotInGreatBritain;

    /// <summary>From this date on the car needs an MOT certificate: an anniversary of its registration.</summary>
    /// <remarks>
    /// Great Britain, https://www.gov.uk/getting-an-mot: "by the third anniversary of its registration". The stricter
    /// reading is taken, that the certificate is needed on the anniversary itself. 29 February becomes 28 February.
    /// </remarks>
    public LocalDate MotNeededFrom => FirstRegistered.PlusYears(FirstMotYears);

    /// <summary>The last day that is good as to the MOT: of its certificate, or of the time in which it needs none yet.</summary>
    /// <remarks>A certificate from before the law asks for one ends nothing.</remarks>
    public LocalDate MotGoodUntil => MotExpires is { } last && last >= MotNeededFrom ? last : MotNeededFrom.PlusDays(-1);

    /// <summary>Whether what is good as to the MOT is the time in which the car needs none yet, and no certificate.</summary>
    public bool IsBeforeFirstMot => !(MotExpires >= MotNeededFrom);

    /// <summary>Why the car's papers forbid teaching in it on a date; null when they do not.</summary>
    /// <remarks>Off-road periods are moments rather than dates: see <see cref="IsOffRoad"/>.</remarks>
    public CarProblem? WhyNotOn(LocalDate date) =>
        date < FirstRegistered ? CarProblem.NotYetRegistered
        : date >= MotNeededFrom && (MotExpires is null || date > MotExpires) ? CarProblem.NoMot
        : date > TaxExpires ? CarProblem.NoTax
        : date > InsuranceExpires ? CarProblem.NoInsurance
        : date > ServiceDue ? CarProblem.ServiceOverdue
        : null;

    /// <summary>Whether the car is off the road at any moment of a period.</summary>
    public bool IsOffRoad(Interval during)
    {
        for (var i = 0; i < OffRoad.Count; i++)
        {
            if (Stretch.Of(OffRoad[i]).Overlaps(Stretch.Of(during)))
            {
                return true;
            }
        }
        return false;
    }
}

/// <summary>What keeps a car from being taught in.</summary>
public enum CarProblem
{
    /// <summary>The date lies before its first registration.</summary>
    NotYetRegistered,

    /// <summary>It needs an MOT certificate and has none for that date.</summary>
    NoMot,

    /// <summary>Vehicle tax has run out.</summary>
    NoTax,

    /// <summary>Insurance has run out.</summary>
    NoInsurance,

    /// <summary>Its service is overdue.</summary>
    ServiceOverdue,
}

/// <summary>Words for <see cref="CarProblem"/>.</summary>
public static class CarProblemText
{
    /// <summary>The problem as the end of a sentence that begins with the car: "… has no MOT on that date".</summary>
    public static string Words(this CarProblem problem) => problem switch
    {
        CarProblem.NotYetRegistered => "is not registered yet on that date",
        CarProblem.NoMot => "has no MOT on that date",
        CarProblem.NoTax => "is not taxed on that date",
        CarProblem.NoInsurance => "is not insured on that date",
        CarProblem.ServiceOverdue => "is overdue for its service on that date",
    };
}
