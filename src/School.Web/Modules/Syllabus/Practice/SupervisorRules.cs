using NodaTime;
using School.Core.Syllabus;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>What the law of Great Britain asks of private practice, in our own words.</summary>
internal static class SupervisorRules
{
    private static readonly LocalDate Code = new(2024, 6, 20);
    private static readonly LocalDate Read = new(2026, 11, 25);

    public static IReadOnlyList<SkillRule> All { get; } =
    [
        new("Beside you sits somebody of 21 or older who has held a full licence for three years or more, for the kind of car you drive: a licence for automatics only does not cover a manual.", "The Highway Code, Annex 3", Code),
        new("The same limits for drink and drugs, and the same eyesight, hold for them as for a driver.", "Ask the Police, question 357, as read on this date", Read),
        new("They take no money for it, nor anything worth money: that is only for registered or licensed instructors.", "Road Traffic Act 1988, section 123, as read on this date", Read),
        new("L plates front and rear, easy to see; in Wales L, D or both.", "The Highway Code, Annex 3", Code),
        new("The car is insured for you to drive as a learner, taxed, and has an MOT where it needs one.", "The Highway Code, Annex 3", Code),
        new("No motorway. Learners go there only with an approved instructor, in a car with dual controls and L plates.", "The Highway Code, rule 253", Code),
        new("Neither of you holds a phone, not even when the car waits in traffic.", "The Highway Code, rule 149", Code),
    ];
}
