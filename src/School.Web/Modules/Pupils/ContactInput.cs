using School.Core;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

/// <summary>How to reach a pupil and where to meet them; a pupil may change this themselves.</summary>
internal record ContactInput
{
    /// <summary>Empty where the pupil is reached by phone alone.</summary>
    [AtMost(EmailAddress.Longest)]
    public string? Email { get; init; }

    /// <summary>Empty where the pupil is reached by e-mail alone.</summary>
    [AtMost(Platform.Forms.Phone.Longest)]
    public string? Phone { get; init; }

    /// <summary>Null while it is still to be asked; no lesson before.</summary>
    public PlaceInput? PickUp { get; init; }

    [AtMost(Pupil.LongestName)]
    public string? EmergencyName { get; init; }

    [AtMost(Platform.Forms.Phone.Longest)]
    public string? EmergencyPhone { get; init; }

    public static ContactInput Of(Pupil pupil) => new()
    {
        Email = pupil.Email,
        Phone = Platform.Forms.Phone.Display(pupil.Phone),
        PickUp = PlaceInput.Of(pupil.PickUp),
        EmergencyName = pupil.EmergencyName,
        EmergencyPhone = Platform.Forms.Phone.Display(pupil.EmergencyPhone),
    };

    /// <summary>Takes it over where it is right, and says what is not.</summary>
    public void ContactInto(Pupil pupil, FieldErrors errors)
    {
        (pupil.Email, pupil.Phone) = errors.ReadReached(nameof(Email), Email, nameof(Phone), Phone);
        pupil.PickUp = errors.ReadPlaceIfAny(nameof(PickUp), PickUp, pupil.PickUp);
        pupil.EmergencyName = errors.ReadLine(nameof(EmergencyName), EmergencyName, Pupil.LongestName);
        var hasPhone = !string.IsNullOrWhiteSpace(EmergencyPhone);
        pupil.EmergencyPhone = hasPhone ? errors.ReadPhone(nameof(EmergencyPhone), EmergencyPhone) : "";
        errors.When(hasPhone && pupil.EmergencyName.Length == 0, nameof(EmergencyName), "Say whose phone number this is.");
        errors.When(!hasPhone && pupil.EmergencyName.Length > 0, nameof(EmergencyPhone), "Enter the phone number of the emergency contact.");
    }
}
