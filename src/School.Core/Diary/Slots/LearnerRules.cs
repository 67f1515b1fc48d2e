using NodaTime;
using School.Core.Pupils;

namespace School.Core.Diary.Slots;

/// <summary>Whether a pupil may have a lesson on the road on a date.</summary>
internal static class LearnerRules
{
    public static SlotRule? Broken(PupilFacts pupil, LocalDate date, DiaryRules rules) =>
        pupil.Missing != FirstLessonNeeds.None ? SlotRule.DetailsMissing
        : date < OldEnoughFrom(pupil, rules) ? SlotRule.PupilTooYoung
        : OfLicence(Licence.On(pupil.Licence, date, pupil.Gearbox, pupil.BirthDate)) ?? (date >= pupil.EyesightFailedOn ? SlotRule.EyesightFailed : null);

    private static SlotRule? OfLicence(LicenceStanding standing) => standing switch
    {
        LicenceStanding.NotSeen or LicenceStanding.NotYetValid or LicenceStanding.SeenBeforeDisqualification or LicenceStanding.ForeignAutomaticOnly => SlotRule.NoProvisionalLicence,
        LicenceStanding.Ended => SlotRule.LicenceEnded,
        LicenceStanding.ForeignEnded => SlotRule.ForeignLicenceEnded,
        LicenceStanding.Disqualified => SlotRule.Disqualified,
        LicenceStanding.Learner or LicenceStanding.Holder => null,
    };

    public static int MinimumAge(PupilFacts pupil, DiaryRules rules) => pupil.MobilityAward
        ? Math.Min(rules.MinimumAge, rules.MinimumAgeWithMobilityAward)
        : rules.MinimumAge;

    public static LocalDate OldEnoughFrom(PupilFacts pupil, DiaryRules rules) =>
        pupil.BirthDate is { } born ? LearnerAge.Attains(born, MinimumAge(pupil, rules)) : LocalDate.MinIsoValue;
}
