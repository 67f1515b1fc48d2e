using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.People;

/// <summary>
/// An instructor as a form or the API sends it. A name and one way to reach them will do; what a first lesson needs besides may stay open,
/// and is not left out again once it is known.
/// </summary>
internal sealed record InstructorInput(
    [property: Needed, AtMost(InvitePerson.LongestName)] string? Name = null,
    [property: AtMost(EmailAddress.Longest)] string? Email = null,
    [property: AtMost(Platform.Forms.Phone.Longest)] string? Phone = null,
    [property: Items(0, InstructorInput.MostTeaches)] IReadOnlyList<Gearbox>? Teaches = null,
    RegistrationKind? Registration = null,
    [property: AtMost(InstructorInput.LongestNumber)] string? RegistrationNumber = null,
    LocalDate? RegisteredFrom = null,
    LocalDate? RegisteredTo = null,
    PlaceInput? Base = null,
    [property: Between(InstructorInput.LeastDay, InstructorInput.LongestDay)] int? DailyTeachingMinutes = null,
    TraineeOption? TraineeOption = null, LocalDate? AppliedAgainOn = null)
{
    public const int LeastDay = 30;
    public const int LongestDay = 720;
    public const int MostTeaches = 10;
    public const int LongestNumber = 12;
    private static readonly LocalDate Earliest = new(1950, 1, 1);
    private static readonly LocalDate Latest = new(2099, 12, 31);

    /// <summary>A new row with what was sent, or what is wrong with it.</summary>
    /// <param name="today">Where the school is.</param>
    /// <param name="before">The row as it stands; null for somebody new.</param>
    public Outcome<Instructor> Read(LocalDate today, Instructor? before = null)
    {
        var errors = new FieldErrors();
        var name = errors.ReadLine(nameof(Name), Name, InvitePerson.LongestName, "Enter the instructor's name.");
        var (email, phone) = errors.ReadReached(nameof(Email), Email, nameof(Phone), Phone);
        var teaches = (Teaches ?? []).Distinct().Order().ToList();
        errors.When(teaches.Count == 0 && before is { Teaches.Count: > 0 }, nameof(Teaches), "Choose at least one gearbox.");
        errors.When(Teaches?.Count > MostTeaches, nameof(Teaches), "Name each gearbox once.");
        errors.When(Registration is null && before is { Registration: not null }, nameof(Registration), "Say whether this is an approved instructor or a trainee.");
        var number = (RegistrationNumber ?? "").Replace(" ", "", StringComparison.Ordinal).ToUpperInvariant();
        errors.When(
            number.Length > LongestNumber || !number.All(char.IsAsciiLetterOrDigit) || (number.Length == 0 && before is { RegistrationNumber.Length: > 0 }), nameof(RegistrationNumber),
            $"Enter the number on the certificate or licence: 1 to {LongestNumber} letters and digits.");
        errors.When(Registration == RegistrationKind.Trainee && RegisteredFrom is null && before is { RegisteredFrom: not null }, nameof(RegisteredFrom), "Enter the first day of the trainee licence.");
        errors.When(RegisteredTo is null && before is { RegisteredTo: not null }, nameof(RegisteredTo), "Enter the last day of the registration or licence.");
        errors.When(
            TraineeOption is not null && Registration != RegistrationKind.Trainee, nameof(TraineeOption), "Only a trainee has an option. Leave it out for an approved instructor.");
        errors.When(
            AppliedAgainOn is not null && Registration != RegistrationKind.Trainee, nameof(AppliedAgainOn), "Only a trainee applies for another licence. Leave it out.");
        errors.When(
            AppliedAgainOn > RegisteredTo, nameof(AppliedAgainOn),
            "A licence goes on only where another was applied for by its last day (Road Traffic Act 1988, section 129(6)). Applied for later, it has ended.");
        errors.When(AppliedAgainOn > today, nameof(AppliedAgainOn), "That day is still to come. Enter the application once it is made: the licence goes on only from then.");
        errors.When(RegisteredFrom > RegisteredTo, nameof(RegisteredTo), "The last day must not be before the first.");
        foreach (var (field, date) in new[] { (nameof(RegisteredFrom), RegisteredFrom), (nameof(RegisteredTo), RegisteredTo), (nameof(AppliedAgainOn), AppliedAgainOn) })
        {
            errors.When(date < Earliest || date > Latest, field, $"Enter a year from {Earliest.Year} to {Latest.Year}.");
        }

        errors.When(
            DailyTeachingMinutes is < LeastDay or > LongestDay, nameof(DailyTeachingMinutes),
            $"A day's limit is {LeastDay} to {LongestDay} minutes; leave it empty for the school's.");
        var place = errors.ReadPlaceIfAny(nameof(Base), Base, before?.Base ?? Place.Unknown);
        errors.When(place is { IsKnown: true, IsFound: false }, $"{nameof(Base)}.{nameof(PlaceInput.ToBeFound)}", "Every day begins and ends here, so this place is not left open. Enter its postcode or position.");
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        return new Instructor
        {
            Name = name,
            Email = email,
            Phone = phone,
            Teaches = teaches,
            Registration = Registration,
            RegistrationNumber = number,
            RegisteredFrom = RegisteredFrom,
            RegisteredTo = RegisteredTo,
            Base = place,
            DailyTeachingMinutes = DailyTeachingMinutes,
            TraineeOption = TraineeOption,
            AppliedAgainOn = AppliedAgainOn,
        };
    }
}
