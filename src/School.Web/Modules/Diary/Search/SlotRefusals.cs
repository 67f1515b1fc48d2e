using School.Core;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

/// <summary>A broken rule as a refusal.</summary>
internal static class SlotRefusals
{
    /// <summary>Member of the problem document that holds the nearest free times, a list of <see cref="SlotItem"/>.</summary>
    public const string AlternativesMember = "alternatives";

    public static readonly Refusal InstructorLeft = Refusal.Rule("instructor_left", "This instructor no longer teaches here. Choose another.");

    private static readonly HashSet<string> Codes = [.. Enum.GetValues<SlotRule>().Select(rule => rule.Code())];

    public static Refusal Of(SlotRefusal refusal) => Taken(refusal.Rule)
        ? Refusal.Conflict(refusal.Code, refusal.Telling)
        : Refusal.Rule(refusal.Code, refusal.Telling);

    /// <summary>The same of a pupil who is known: what is still needed of them comes with where the office enters it.</summary>
    public static Refusal Of(SlotRefusal refusal, PupilCard pupil, bool asksFirst) =>
        refusal.Rule == SlotRule.DetailsMissing ? StillNeeded.Of(pupil, asksFirst).ToRefusal() : Of(refusal);

    /// <summary>Of who never teaches in this pupil's kind of car, whenever it were; null where they do.</summary>
    public static Refusal? WrongGearbox(InstructorCard instructor, PupilCard pupil) =>
        instructor.Teaches(pupil) ? null : Of(SlotRefusal.WrongGearbox(pupil.Gearbox));

    /// <summary>Whether they teach in this pupil's kind of car.</summary>
    public static bool Teaches(this InstructorCard instructor, PupilCard pupil) => instructor.Facts.Teaches.Contains(pupil.Gearbox);

    /// <summary>Where a place is still to be found, it is said that it does not fit, and not by how many minutes.</summary>
    public static Refusal TooFarFromTheDistrict { get; } = Refusal.Rule(SlotRule.NoTimeToGetThere.Code(), new Telling(
        "By the middle of the district there is no time to get there, or on to the next lesson. The place itself is still to be found. Choose another time, or say where it is.",
        "There may be no time to get there, or on to the next lesson: where you are picked up is still to be found. Choose another time, or ask the office."));

    public static bool IsAboutTime(Refusal refusal) => Codes.Contains(refusal.Code);

    /// <summary>Whether another entry holds that very time. The rest are rules that hold whoever comes, the drive from a neighbouring lesson among them.</summary>
    private static bool Taken(SlotRule rule) => rule switch
    {
        SlotRule.InstructorBusy or SlotRule.PupilBusy or SlotRule.CarBusy => true,
        SlotRule.InThePast or SlotRule.OffTheGrid or SlotRule.LengthNotOffered or SlotRule.InsideNotice or SlotRule.BeyondHorizon
            or SlotRule.DetailsMissing or SlotRule.PupilTooYoung or SlotRule.NoProvisionalLicence or SlotRule.LicenceEnded or SlotRule.ForeignLicenceEnded
            or SlotRule.Disqualified or SlotRule.EyesightFailed or SlotRule.WrongGearbox or SlotRule.InstructorNotRegistered
            or SlotRule.OutsideWorkingHours or SlotRule.TimeOff or SlotRule.WeeklyLimit or SlotRule.DailyLimit or SlotRule.NoTimeToGetThere
            or SlotRule.RestNeeded or SlotRule.NoSuitableCar
            or SlotRule.OutsideServedAreas or SlotRule.MotorwayNeedsAdi or SlotRule.MotorwayNeedsDualControls or SlotRule.NoTestThatDay => false,
    };

    /// <summary>The free times that a refusal carries; empty when it carries none.</summary>
    public static IReadOnlyList<SlotItem> AlternativesOf(Refusal refusal) =>
        refusal.More.GetValueOrDefault(AlternativesMember) as IReadOnlyList<SlotItem> ?? [];
}

/// <summary>What keeps a whole search from finding anything, rule by rule.</summary>
internal static class ObstacleWords
{
    public static Telling Of(SlotRule rule) => rule switch
    {
        SlotRule.InThePast => "These times have passed.",
        SlotRule.OffTheGrid => "These times are not on the school's grid.",
        SlotRule.LengthNotOffered => "The school does not offer lessons of this length.",
        SlotRule.InsideNotice => "These times are nearer than the notice that the school needs. Ask the office about them.",
        SlotRule.BeyondHorizon => "These dates are further ahead than the school takes bookings.",
        SlotRule.DetailsMissing => new Telling("Not all is known of the pupil that a lesson needs: look at the pupil's page.", "The school still needs to know something of you before your first lesson. Call the office."),
        SlotRule.PupilTooYoung => new Telling("The pupil is too young on these dates.", "You are too young on these dates."),
        SlotRule.NoProvisionalLicence => new Telling("No provisional licence is recorded that is valid on these dates.", "The school has not seen a provisional licence of yours that is valid on these dates."),
        SlotRule.LicenceEnded => new Telling("The pupil's driving licence has ended by these dates.", "Your driving licence has ended by these dates."),
        SlotRule.ForeignLicenceEnded => new Telling("The pupil's foreign licence no longer counts on these dates.", "Your foreign licence no longer counts on these dates."),
        SlotRule.Disqualified => new Telling("The pupil is disqualified from driving on these dates.", "You are disqualified from driving on these dates."),
        SlotRule.EyesightFailed => new Telling(
            "The pupil has failed an eyesight check and passed none since.", "You could not read a number plate at the last eyesight check. Pass one with your instructor first."),
        SlotRule.WrongGearbox => new Telling("The instructor does not teach in the pupil's kind of car.", "The instructor does not teach in your kind of car."),
        SlotRule.InstructorNotRegistered => "The instructor's registration does not cover these dates.",
        SlotRule.OutsideServedAreas => new Telling("The instructor does not serve the area of the pick-up.", "The instructor does not come to the area of your pick-up."),
        SlotRule.MotorwayNeedsAdi => "A trainee gives no learner a lesson on a motorway.",
        SlotRule.MotorwayNeedsDualControls => "A learner's lesson on a motorway needs a car with dual controls.",
        SlotRule.NoTestThatDay => new Telling("The pupil has no driving test on these dates.", "You have no driving test on these dates."),
        SlotRule.OutsideWorkingHours => "No instructor works at these times, or the lesson would run over the end of their hours.",
        SlotRule.TimeOff => "The instructor is off at these times.",
        SlotRule.InstructorBusy => "The instructor is already booked at these times.",
        SlotRule.PupilBusy => new Telling("The pupil has another lesson at these times.", "You have another lesson at these times."),
        SlotRule.WeeklyLimit => new Telling("The pupil's limit for the week would be passed.", "Your limit for the week would be passed."),
        SlotRule.DailyLimit => "The instructor's limit for the day would be passed.",
        SlotRule.NoTimeToGetThere => "The instructor could not get there, or on to the next lesson, in time.",
        SlotRule.RestNeeded => "The instructor would not get the rest that is due.",
        SlotRule.NoSuitableCar => "No suitable car is with the instructor and in date at these times.",
        SlotRule.CarBusy => "The suitable car is taken at these times.",
    };
}
