using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.People.Instructors;

/// <summary>What the form about an instructor holds, as typed.</summary>
internal sealed class InstructorForm
{
    public string? Name { get; set; }

    public string? Email { get; set; }

    public string? Phone { get; set; }

    public bool Manual { get; set; }

    public bool Automatic { get; set; }

    public RegistrationKind? Registration { get; set; }

    public string? RegistrationNumber { get; set; }

    public LocalDate? RegisteredFrom { get; set; }

    public LocalDate? RegisteredTo { get; set; }

    public TraineeOption? TraineeOption { get; set; }

    public LocalDate? AppliedAgainOn { get; set; }

    public int? DailyTeachingMinutes { get; set; }

    public PlaceForm Base { get; set; } = new();

    public static InstructorForm Of(Instructor row) => new()
    {
        Name = row.Name,
        Email = row.Email,
        Phone = Platform.Forms.Phone.Display(row.Phone),
        Manual = row.Teaches.Contains(Gearbox.Manual),
        Automatic = row.Teaches.Contains(Gearbox.Automatic),
        Registration = row.Registration,
        RegistrationNumber = row.RegistrationNumber,
        RegisteredFrom = row.RegisteredFrom,
        RegisteredTo = row.RegisteredTo,
        TraineeOption = row.TraineeOption,
        AppliedAgainOn = row.AppliedAgainOn,
        DailyTeachingMinutes = row.DailyTeachingMinutes,
        Base = PlaceForm.Of(PlaceInput.Of(row.Base)),
    };

    public InstructorInput ToInput() => new(
        Name, Email, Phone, [.. Gearboxes()], Registration, RegistrationNumber, RegisteredFrom, RegisteredTo,
        new(Label, Base.Address, Base.Postcode, Position: Base.Position) { StillRight = Base.StillRight }, DailyTeachingMinutes,
        TraineeOption, AppliedAgainOn);

    // Hardly anybody gives their home a name.
    private string? Label => string.IsNullOrWhiteSpace(Base.Label) && !(string.IsNullOrWhiteSpace(Base.Postcode) && string.IsNullOrWhiteSpace(Base.Position)) ? "Home" : Base.Label;

    private IEnumerable<Gearbox> Gearboxes()
    {
        if (Manual)
        {
            yield return Gearbox.Manual;
        }

        if (Automatic)
        {
            yield return Gearbox.Automatic;
        }
    }

    internal sealed class PlaceForm
    {
        public string? Label { get; set; }

        public string? Address { get; set; }

        public string? Postcode { get; set; }

        public string? Position { get; set; }

        public bool? StillRight { get; set; }

        public static PlaceForm Of(PlaceInput place) =>
            new() { Label = place.Label, Address = place.Address, Postcode = place.Postcode, Position = place.Position };
    }
}
