using NodaTime;
using School.Core.Cars;
using School.Core.Diary.Slots;
using School.Core.Pupils;

namespace School.Core.Tests.Diary.Slots;

/// <summary>What a licence and an eyesight check forbid, by going through the days one by one.</summary>
internal static class LicenceOracle
{
    /// <summary>Of somebody who may drive: whether the motorway rule binds them. It speaks of those who hold a provisional licence.</summary>
    public static bool IsLearner(PupilFacts pupil) => pupil.Licence is null or { Kind: LicenceKind.Provisional or LicenceKind.Disqualified }
        || (pupil.Licence.Kind == LicenceKind.FullAutomatic && pupil.Gearbox == Gearbox.Manual);

    public static SlotRule? Broken(PupilFacts pupil, LocalDate date)
    {
        if (pupil.Licence is not { } licence)
        {
            return SlotRule.NoProvisionalLicence;
        }

        if (licence.Kind == LicenceKind.Disqualified)
        {
            return licence.DisqualifiedUntil < date ? SlotRule.NoProvisionalLicence : SlotRule.Disqualified;
        }

        if (licence.ValidFrom is null || licence.ValidFrom > date)
        {
            return SlotRule.NoProvisionalLicence;
        }

        if (licence.ValidUntil < date)
        {
            return SlotRule.LicenceEnded;
        }

        if (licence is { Kind: LicenceKind.Foreign, FromEea: false, ResidentSince: { } since })
        {
            // Twelve months on: the same day of the same month a year later is the first that does not count.
            var months = 0;
            for (var day = since.PlusDays(1); day <= date; day = day.PlusDays(1))
            {
                months += day == since.PlusMonths(months + 1) ? 1 : 0;
            }

            if (months >= 12)
            {
                return SlotRule.ForeignLicenceEnded;
            }
        }

        if (licence.Kind == LicenceKind.Foreign && pupil.Gearbox == Gearbox.Manual && (licence.Conditions ?? []).Contains("78"))
        {
            return SlotRule.NoProvisionalLicence;
        }

        return pupil.EyesightFailedOn <= date ? SlotRule.EyesightFailed : null;
    }
}
