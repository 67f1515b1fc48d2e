using NodaTime;
using School.Core.Pupils;

namespace School.Core.Diary.Slots;

/// <summary>Whether a pupil may have a lesson on the road on a date.</summary>
internal static class LearnerRules
{
    /// <param name="pupil">The pupil.</param>
    /// <param name="date">The date.</param>
    /// <param name="rules">The school's rules.</param>
    /// <param name="asksFirst">Whether licence and date of birth must be known; else they are seen and asked before driving, and only what is known and wrong stands in the way.</param>
    public static SlotRule? Broken(PupilFacts pupil, LocalDate date, DiaryRules rules, bool asksFirst) =>
        Missing(pupil, asksFirst) != FirstLessonNeeds.None ? SlotRule.DetailsMissing
        : date < OldEnoughFrom(pupil, rules) ? SlotRule.PupilTooYoung
        : pupil.Licence is null && !asksFirst ? Eyesight(pupil, date)
        : OfLicence(Licence.On(pupil.Licence, date, pupil.Gearbox, pupil.BirthDate)) ?? Eyesight(pupil, date);

    /// <summary>What is missing of a pupil that stands in the way.</summary>
    public static FirstLessonNeeds Missing(PupilFacts pupil, bool asksFirst) => asksFirst ? pupil.Missing : pupil.Missing & FirstLessonNeedsWords.ToBook;

    /// <summary>Whether a kind of lesson is given only to whom the school knows: what the law asks for hangs on the licence, or a test does.</summary>
    public static bool AsksFirst(LessonKind kind) => kind is LessonKind.Motorway or LessonKind.TestDay;

    private static SlotRule? Eyesight(PupilFacts pupil, LocalDate date) => date >= pupil.EyesightFailedOn ? SlotRule.EyesightFailed : null;

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
