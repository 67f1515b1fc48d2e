using School.Core.Cars;

namespace School.Core.Diary.Slots;

/// <summary>The rules a slot must keep, in the order in which they are checked: the first one broken is the one told.</summary>
public enum SlotRule
{
    /// <summary>The start lies before the present moment.</summary>
    InThePast,

    /// <summary>The start is not on the school's grid.</summary>
    OffTheGrid,

    /// <summary>The school does not offer this length.</summary>
    LengthNotOffered,

    /// <summary>The start is nearer than the notice to book.</summary>
    InsideNotice,

    /// <summary>The date is further ahead than the horizon.</summary>
    BeyondHorizon,

    /// <summary>What must be known of the pupil before a first lesson is not.</summary>
    DetailsMissing,

    /// <summary>The pupil is under age on that date.</summary>
    PupilTooYoung,

    /// <summary>The pupil has no provisional licence valid on that date.</summary>
    NoProvisionalLicence,

    /// <summary>The pupil's licence has ended by that date.</summary>
    LicenceEnded,

    /// <summary>The pupil's foreign licence no longer counts for who lives here.</summary>
    ForeignLicenceEnded,

    /// <summary>The pupil is disqualified from driving on that date.</summary>
    Disqualified,

    /// <summary>The pupil has failed an eyesight check and passed none since.</summary>
    EyesightFailed,

    /// <summary>The instructor does not teach the pupil's gearbox.</summary>
    WrongGearbox,

    /// <summary>The instructor is neither registered nor licensed on that date.</summary>
    InstructorNotRegistered,

    /// <summary>The instructor serves other areas than that of the pick-up, and the school books them in no other.</summary>
    OutsideServedAreas,

    /// <summary>A learner's motorway lesson with an instructor who is not approved.</summary>
    MotorwayNeedsAdi,

    /// <summary>A lesson beside a test, and the pupil has none on that date.</summary>
    NoTestThatDay,

    /// <summary>Not all of the lesson lies inside one span of working hours.</summary>
    OutsideWorkingHours,

    /// <summary>The instructor has time off.</summary>
    TimeOff,

    /// <summary>The instructor has another entry.</summary>
    InstructorBusy,

    /// <summary>The pupil has another lesson.</summary>
    PupilBusy,

    /// <summary>The pupil's weekly limit would be passed.</summary>
    WeeklyLimit,

    /// <summary>The instructor's daily limit would be passed.</summary>
    DailyLimit,

    /// <summary>A drive before or after does not fit.</summary>
    NoTimeToGetThere,

    /// <summary>The day would lack a rest after long continuous work.</summary>
    RestNeeded,

    /// <summary>The instructor holds no car that suits.</summary>
    NoSuitableCar,

    /// <summary>A learner's motorway lesson, and the cars that suit have no dual controls.</summary>
    MotorwayNeedsDualControls,

    /// <summary>Every car that suits is taken.</summary>
    CarBusy,
}

/// <summary>Why a start is not possible.</summary>
/// <param name="Rule">The rule.</param>
/// <param name="Code">Its stable code for programs: the rule's name in snake case.</param>
/// <param name="Telling">What stands in the way and what a person can do about it.</param>
public sealed record SlotRefusal(SlotRule Rule, string Code, Telling Telling)
{
    internal SlotRefusal(SlotRule rule, Telling telling) : this(rule, rule.Code(), telling)
    {
    }

    /// <summary>What is said of an instructor who does not teach in cars of this gearbox, whatever the time.</summary>
    /// <param name="gearbox">The gearbox of the pupil's lessons.</param>
    public static SlotRefusal WrongGearbox(Gearbox gearbox) => new(SlotRule.WrongGearbox, SlotSentences.WrongGearbox(gearbox));
}

/// <summary>Codes for <see cref="SlotRule"/>.</summary>
public static class SlotRuleCodes
{
    /// <summary>The rule's stable code.</summary>
    public static string Code(this SlotRule rule) => rule switch
    {
        SlotRule.InThePast => "in_the_past",
        SlotRule.OffTheGrid => "off_the_grid",
        SlotRule.LengthNotOffered => "length_not_offered",
        SlotRule.InsideNotice => "inside_notice",
        SlotRule.BeyondHorizon => "beyond_horizon",
        SlotRule.DetailsMissing => "details_missing",
        SlotRule.PupilTooYoung => "pupil_too_young",
        SlotRule.NoProvisionalLicence => "no_provisional_licence",
        SlotRule.LicenceEnded => "licence_ended",
        SlotRule.ForeignLicenceEnded => "foreign_licence_ended",
        SlotRule.Disqualified => "disqualified",
        SlotRule.EyesightFailed => "eyesight_failed",
        SlotRule.WrongGearbox => "wrong_gearbox",
        SlotRule.InstructorNotRegistered => "instructor_not_registered",
        SlotRule.OutsideServedAreas => "outside_served_areas",
        SlotRule.MotorwayNeedsAdi => MotorwayRule.NeedsAdi,
        SlotRule.NoTestThatDay => "no_test_that_day",
        SlotRule.OutsideWorkingHours => "outside_working_hours",
        SlotRule.TimeOff => "time_off",
        SlotRule.InstructorBusy => "instructor_busy",
        SlotRule.PupilBusy => "pupil_busy",
        SlotRule.WeeklyLimit => "weekly_limit",
        SlotRule.DailyLimit => "daily_limit",
        SlotRule.NoTimeToGetThere => "no_time_to_get_there",
        SlotRule.RestNeeded => "rest_needed",
        SlotRule.NoSuitableCar => "no_suitable_car",
        SlotRule.MotorwayNeedsDualControls => MotorwayRule.NeedsDualControls,
        SlotRule.CarBusy => "car_busy",
    };
}
