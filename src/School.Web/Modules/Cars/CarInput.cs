using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Cars;

/// <summary>A car as a form or the API sends it.</summary>
internal record CarInput
{
    private const int MostYearsAhead = 10;

    [Needed, AtMost(Car.LongestLabel)]
    public string? Label { get; init; }

    [Needed, AtMost(NumberPlate.LongestTyped)]
    public string? Plate { get; init; }

    [Needed]
    public Gearbox? Gearbox { get; init; }

    public bool DualControls { get; init; } = true;

    [Needed]
    public LocalDate? FirstRegistered { get; init; }

    public LocalDate? MotExpires { get; init; }

    public LocalDate? TaxExpires { get; init; }

    public LocalDate? InsuranceExpires { get; init; }

    public LocalDate? ServiceDue { get; init; }

    public static CarInput Of(Car car) => new()
    {
        Label = car.Label,
        Plate = car.Plate,
        Gearbox = car.Gearbox,
        DualControls = car.DualControls,
        FirstRegistered = car.FirstRegistered,
        MotExpires = car.MotExpires,
        TaxExpires = car.TaxExpires,
        InsuranceExpires = car.InsuranceExpires,
        ServiceDue = car.ServiceDue,
    };

    /// <summary>What is wrong, or the input with its text cleaned.</summary>
    /// <param name="today">The day of the school.</param>
    /// <param name="kept">The last day of its MOT as it stands, which may be sent back as it was read.</param>
    public Outcome<CarInput> Check(LocalDate today, LocalDate? kept = null)
    {
        var errors = new FieldErrors();
        var label = errors.ReadLine(nameof(Label), Label, Car.LongestLabel, "Enter what people call the car, such as silver hatch.");
        if (!NumberPlate.TryParse(Plate, out var plate, out var problem))
        {
            errors.Add(nameof(Plate), problem.Sentence);
        }

        errors.When(Gearbox is null, nameof(Gearbox), "Say whether the car is manual or automatic.");
        errors.When(FirstRegistered is null, nameof(FirstRegistered), "Enter the date of first registration; it stands in the registration document.");
        errors.When(FirstRegistered > today, nameof(FirstRegistered), "The date of first registration lies in the future.");
        errors.When(FirstRegistered < Car.FirstPlates, nameof(FirstRegistered), "There were no number plates that long ago. Check the year.");
        Paper(nameof(MotExpires), MotExpires);
        errors.When(
            MotExpires != kept && FirstRegistered >= Car.FirstPlates && MotExpires > LocalDate.Max(MotDates.Furthest(today), FirstRegistered.Value.PlusYears(CarFacts.FirstMotInNorthernIreland)) && MotExpires <= today.PlusYears(MostYearsAhead), nameof(MotExpires),
            $"An MOT is good for a year, and for a month less a day more where it was had early: at most until {ScreenWords.DayAndYear(MotDates.Furthest(today))}. Check the year.");
        Paper(nameof(TaxExpires), TaxExpires);
        Paper(nameof(InsuranceExpires), InsuranceExpires);
        Paper(nameof(ServiceDue), ServiceDue);
        return errors.ToRefusal() is { } refusal ? refusal : this with { Label = label, Plate = plate };

        void Paper(string field, LocalDate? date) => errors
            .When(date < FirstRegistered, field, "This lies before the first registration. Check the year.")
            .When(date > today.PlusYears(MostYearsAhead), field, "This is more than ten years ahead. Check the year.");
    }
}

/// <summary>A car that is new, with whoever holds it from today on.</summary>
internal sealed record NewCarInput : CarInput
{
    public Guid? HeldBy { get; init; }
}
