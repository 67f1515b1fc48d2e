using NodaTime;
using School.Core.Pupils;

namespace School.Core.Diary;

/// <summary>Who may take a learner on a motorway, and in what car.</summary>
public static class MotorwayRule
{
    /// <summary>The skill that is taught on motorways only: its key in the syllabus as shipped.</summary>
    public const string Skill = "motorways";

    /// <summary>Where the rule stands.</summary>
    public const string Source = "The Highway Code, rule 253";

    /// <summary>What nobody but the instructor can see to.</summary>
    public const string Plates = "On a motorway the car carries L plates (or D plates in Wales) at front and back.";

    /// <summary>Code of the refusal where the instructor is not approved.</summary>
    public const string NeedsAdi = "motorway_needs_adi";

    /// <summary>Code of the refusal where the car has no dual controls.</summary>
    public const string NeedsDualControls = "motorway_needs_dual_controls";

    /// <summary>The date of that text.</summary>
    public static LocalDate SourceDate { get; } = new(2024, 6, 20);

    /// <summary>Whether a pupil drives a car of their gearbox as a learner on a date, so that the rule binds.</summary>
    internal static bool Binds(PupilFacts pupil, LocalDate date) =>
        Licence.On(pupil.Licence, date, pupil.Gearbox, pupil.BirthDate) != LicenceStanding.Holder;

    /// <summary>Why a learner must not be taken on a motorway; null when instructor and car are as the rule asks.</summary>
    /// <param name="registration">On what ground the instructor teaches. A trainee licence is not enough.</param>
    /// <param name="dualControls">Whether the car has dual controls.</param>
    /// <param name="isLearner">Whether the pupil drives that car as a learner; the rule speaks of provisional licences and does not bind who holds a full one.</param>
    public static InputProblem? Of(RegistrationKind registration, bool dualControls, bool isLearner = true) =>
        !isLearner ? null
        : registration != RegistrationKind.Approved ? new(NeedsAdi, AdiSentence)
        : !dualControls ? new(NeedsDualControls, DualControlsSentence)
        : null;

    internal static readonly string AdiSentence =
        $"A learner may drive on a motorway only with an approved driving instructor, not with a trainee. ({Source}.)";

    internal static readonly string DualControlsSentence = $"A learner may drive on a motorway only in a car with dual controls. ({Source}.)";
}
