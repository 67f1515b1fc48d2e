using School.Core.Pupils;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

/// <summary>What lies encrypted: the driver number and notes on health.</summary>
internal sealed record GuardedInput(string? DriverNumber, string? HealthNotes)
{
    public void Into(Pupil pupil, FieldErrors errors, Sealer sealer)
    {
        pupil.DriverNumberSealed = sealer.Seal(ReadDriverNumber(pupil, errors));
        pupil.HealthNotesSealed = sealer.Seal(errors.ReadLines(nameof(HealthNotes), HealthNotes, Pupil.LongestNotes));
    }

    private string? ReadDriverNumber(Pupil pupil, FieldErrors errors)
    {
        if (string.IsNullOrWhiteSpace(DriverNumber))
        {
            return null;
        }

        if (!School.Core.Pupils.DriverNumber.TryParse(DriverNumber, out var number, out var problem))
        {
            errors.Add(nameof(DriverNumber), problem.Sentence);
            return null;
        }

        errors.When(!number.AgreesWith(pupil.BirthDate), nameof(DriverNumber), "The birth date written in this driver number is not the pupil's. Check both against the licence.");
        return number.Value;
    }
}
