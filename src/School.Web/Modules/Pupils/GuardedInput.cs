using School.Core;
using School.Core.Pupils;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

/// <summary>What lies encrypted: the driver number, notes on health and the number of the theory certificate.</summary>
internal sealed record GuardedInput(
    [property: AtMost(Core.Pupils.DriverNumber.LongestTyped)] string? DriverNumber, [property: AtMost(Pupil.LongestNotes)] string? HealthNotes,
    [property: AtMost(GuardedInput.LongestCertificate)] string? TheoryCertificate = null)
{
    public const int LongestCertificate = 20;

    public void Into(Pupil pupil, FieldErrors errors, Sealer sealer)
    {
        pupil.DriverNumberSealed = sealer.Seal(ReadDriverNumber(pupil, errors));
        pupil.HealthNotesSealed = sealer.Seal(errors.ReadLines(nameof(HealthNotes), HealthNotes, Pupil.LongestNotes));
        pupil.TheoryCertificateSealed = sealer.Seal(ReadCertificate(errors));
    }

    /// <summary>Its published form was not found, so only what no number holds is refused.</summary>
    private string ReadCertificate(FieldErrors errors)
    {
        var number = string.Concat(CleanText.Line(TheoryCertificate).Where(c => c is not (' ' or '-'))).ToUpperInvariant();
        errors.When(
            number.Length > LongestCertificate || !number.All(char.IsAsciiLetterOrDigit), nameof(TheoryCertificate),
            $"A certificate number has letters and digits only, {LongestCertificate} at most.");
        return number;
    }

    private string? ReadDriverNumber(Pupil pupil, FieldErrors errors)
    {
        if (string.IsNullOrWhiteSpace(DriverNumber))
        {
            return null;
        }

        if (!Core.Pupils.DriverNumber.TryParse(DriverNumber, out var number, out var problem))
        {
            errors.Add(nameof(DriverNumber), problem.Sentence);
            return null;
        }

        errors.When(pupil.BirthDate is { } born && !number.AgreesWith(born), nameof(DriverNumber), "The birth date written in this driver number is not the pupil's. Check both against the licence.");
        return number.Value;
    }
}
