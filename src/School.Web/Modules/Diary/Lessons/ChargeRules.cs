using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>The school's terms and people's reasons as the rule of the charge takes them, and its codes as forms send them.</summary>
internal static class ChargeRules
{
    /// <summary>The terms as they stand today.</summary>
    public static ChargeTerms Charges(this DiaryRules rules) => new(rules.NoticeToMoveHours);

    /// <summary>Who brings it about: another reason is the school's when the school gives it, and the pupil's when the pupil does.</summary>
    public static ChargeCause Cause(this CancelReason reason, Viewer viewer) => reason switch
    {
        CancelReason.Pupil => ChargeCause.Pupil,
        CancelReason.InstructorIll => ChargeCause.InstructorIll,
        CancelReason.Weather => ChargeCause.Weather,
        CancelReason.Car => ChargeCause.Car,
        CancelReason.Other => viewer.IsStaff ? ChargeCause.School : ChargeCause.Pupil,
    };

    /// <summary>Why somebody may not give this reason; null when they may.</summary>
    public static Refusal? NotYours(this CancelReason reason, Viewer viewer) => viewer.IsStaff || reason is CancelReason.Pupil or CancelReason.Other
        ? null
        : Refusal.Invalid(nameof(CancelRequest.Reason), "Choose your own reason, or another; the rest are for the school to give.");

    /// <summary>Nothing was done, since it would not come to what was told; with what it comes to now.</summary>
    public static Refusal Changed(this LessonCharge charge, Viewer reader) =>
        Refusal.Rule("charge_changed", "Whether this is charged has changed since you looked, so nothing was done. Look again before you go on.") with
        {
            More = new Dictionary<string, object?> { ["charge"] = LessonChargeJson.Beforehand(charge, reader) },
        };

    /// <summary>The code in a word: "free_in_time".</summary>
    public static string Word(this ChargeCode code) => code switch
    {
        ChargeCode.FreeInTime => "free_in_time",
        ChargeCode.FreeSchool => "free_school",
        ChargeCode.FreeInstructorIll => "free_instructor_ill",
        ChargeCode.FreeWeather => "free_weather",
        ChargeCode.FreeCar => "free_car",
        ChargeCode.Late => "late",
        ChargeCode.LateMove => "late_move",
        ChargeCode.Missed => "missed",
        ChargeCode.Waived => "waived",
    };

    /// <summary>The code of a word; null for anything else.</summary>
    public static ChargeCode? Read(string? word) => Enum.GetValues<ChargeCode>().Where(code => code.Word() == word).Select(code => (ChargeCode?)code).SingleOrDefault();
}
