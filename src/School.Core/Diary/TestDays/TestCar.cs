using NodaTime;
using School.Core.Cars;

namespace School.Core.Diary.TestDays;

/// <summary>One of the published rules for the car of a practical test.</summary>
/// <param name="Code">Stable code for programs.</param>
/// <param name="Words">The rule in own words.</param>
public sealed record TestCarRule(string Code, string Words);

/// <summary>What the official page asks of a car that is used in a test.</summary>
public static class TestCar
{
    /// <summary>Where the rules stand.</summary>
    public const string Source = "gov.uk, “Driving test: cars”, rules for using your own car, read 25 November 2026";

    /// <summary>The rules, in own words. Tread depth: The Highway Code, annex 6.</summary>
    public static IReadOnlyList<TestCarRule> Rules { get; } =
    [
        new("taxed", "It is taxed."),
        new("mot", "It has an MOT if it is more than three years old."),
        new("insured", "It is insured for a driving test. Ask the insurer: ordinary cover may leave tests out."),
        new("roadworthy", "It is roadworthy, and no warning light is on (the airbag light, say)."),
        new("tyres", "Tyres are undamaged, with at least 1.6 mm of tread over the middle three quarters; no space-saver spare is fitted."),
        new("l_plates", "L plates (or D plates in Wales) stand at front and back."),
        new("mirror", "There is an extra interior mirror for the examiner."),
        new("examiner_seat", "The passenger seat has a seatbelt and a fixed head restraint for the examiner."),
        new("speedometer", "It can reach at least 62 mph, and the speedometer shows mph."),
        new("wheels_and_weight", "It has four wheels and a maximum authorised mass of no more than 3,500 kg."),
        new("smoke_free", "It is smoke-free, before and during the test."),
        new("camera", "A camera faces outwards only and records no sound inside."),
    ];

    /// <summary>Which rules the car breaks on the day, as far as its recorded facts tell. Sentences end where the car begins them:
    /// "has no MOT on that date".</summary>
    /// <param name="car">The car.</param>
    /// <param name="date">The date of the test.</param>
    /// <param name="during">The time for which the car is needed.</param>
    public static IReadOnlyList<TestCarRule> Broken(CarFacts car, LocalDate date, Interval during)
    {
        var broken = new List<TestCarRule>();
        Add(date < car.FirstRegistered, "registered", CarProblem.NotYetRegistered.Words());
        Add(date >= car.MotNeededFrom && !(date <= car.MotExpires), "mot", CarProblem.NoMot.Words());
        Add(date > car.TaxExpires, "taxed", CarProblem.NoTax.Words());
        Add(date > car.InsuranceExpires, "insured", CarProblem.NoInsurance.Words());
        Add(car.IsOffRoad(during), "off_road", "is off the road at that time");
        return broken;

        void Add(bool isBroken, string code, string words)
        {
            if (isBroken)
            {
                broken.Add(new(code, words));
            }
        }
    }
}
