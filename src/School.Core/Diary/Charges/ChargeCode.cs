using System.Text.Json.Serialization;

namespace School.Core.Diary.Charges;

/// <summary>What was decided about the charge of a lesson that is cancelled, moved or missed, and by which rule.</summary>
public enum ChargeCode
{
    /// <summary>The pupil backs out in time.</summary>
    [JsonStringEnumMemberName("free_in_time")]
    FreeInTime,

    /// <summary>The school calls it off or moves it.</summary>
    [JsonStringEnumMemberName("free_school")]
    FreeSchool,

    /// <summary>The instructor is ill.</summary>
    [JsonStringEnumMemberName("free_instructor_ill")]
    FreeInstructorIll,

    /// <summary>The weather.</summary>
    [JsonStringEnumMemberName("free_weather")]
    FreeWeather,

    /// <summary>The car.</summary>
    [JsonStringEnumMemberName("free_car")]
    FreeCar,

    /// <summary>The pupil cancels inside the notice.</summary>
    [JsonStringEnumMemberName("late")]
    Late,

    /// <summary>It is moved inside the notice because the pupil asks for it; the terms say whether that is charged.</summary>
    [JsonStringEnumMemberName("late_move")]
    LateMove,

    /// <summary>The pupil was not there.</summary>
    [JsonStringEnumMemberName("missed")]
    Missed,

    /// <summary>It would be charged and the school lets it pass.</summary>
    [JsonStringEnumMemberName("waived")]
    Waived,
}

/// <summary>What is done with a lesson that may cost its pupil something.</summary>
public enum ChargeAct
{
    /// <summary>It is cancelled.</summary>
    Cancel,

    /// <summary>It gets another time, instructor or car.</summary>
    Move,

    /// <summary>It is written down that the pupil was not there.</summary>
    Missed,
}

/// <summary>Who or what brings it about.</summary>
public enum ChargeCause
{
    /// <summary>The pupil wants or needs it.</summary>
    Pupil,

    /// <summary>The school wants or needs it, for a reason that is none of the others.</summary>
    School,

    /// <summary>The instructor is ill.</summary>
    InstructorIll,

    /// <summary>The weather.</summary>
    Weather,

    /// <summary>The car cannot be used.</summary>
    Car,
}
