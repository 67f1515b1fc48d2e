using NodaTime;
using School.Core.Pupils;

namespace School.Core.Diary.Slots;

/// <summary>Whether a pupil may have a lesson on the road on a date.</summary>
internal static class LearnerRules
{
    public static SlotRule? Broken(PupilFacts pupil, LocalDate date, DiaryRules rules) =>
        date < OldEnoughFrom(pupil, rules) ? SlotRule.PupilTooYoung
        : !(pupil.ProvisionalFrom <= date) ? SlotRule.NoProvisionalLicence
        : null;

    public static int MinimumAge(PupilFacts pupil, DiaryRules rules) => pupil.MobilityAward
        ? Math.Min(rules.MinimumAge, rules.MinimumAgeWithMobilityAward)
        : rules.MinimumAge;

    public static LocalDate OldEnoughFrom(PupilFacts pupil, DiaryRules rules) =>
        LearnerAge.Attains(pupil.BirthDate, MinimumAge(pupil, rules));
}
