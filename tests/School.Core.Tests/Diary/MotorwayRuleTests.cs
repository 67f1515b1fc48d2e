using School.Core.Diary;

namespace School.Core.Tests.Diary;

/// <summary>The Highway Code, rule 253, text of 20 June 2024: an approved instructor, dual controls, L plates.</summary>
public sealed class MotorwayRuleTests
{
    [Theory]
    [InlineData(RegistrationKind.Approved, true, null)]
    [InlineData(RegistrationKind.Approved, false, "motorway_needs_dual_controls")]
    [InlineData(RegistrationKind.Trainee, true, "motorway_needs_adi")]
    [InlineData(RegistrationKind.Trainee, false, "motorway_needs_adi")]
    public void A_learner_drives_on_a_motorway_only_with_an_approved_instructor_and_dual_controls(RegistrationKind registration, bool dualControls, string? code)
    {
        var refusal = MotorwayRule.Of(registration, dualControls);
        Assert.Equal(code, refusal?.Code);
        Assert.Contains(MotorwayRule.Source, refusal?.Sentence ?? MotorwayRule.Source, StringComparison.Ordinal);
    }
}
