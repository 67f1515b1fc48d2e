using NodaTime;

namespace School.Core.Diary.Charges;

/// <summary>A decision about a charge: its code, and the facts from which a sentence for any reader can be made.</summary>
/// <param name="Code">What was decided, and by which rule.</param>
/// <param name="Chargeable">Whether the pupil is charged.</param>
/// <param name="Act">What is done with the lesson.</param>
/// <param name="Start">When the lesson began or was to begin, before it was moved.</param>
/// <param name="FreeUntil">The last moment at which its pupil backed out free of charge, by the terms of the day of the decision.</param>
/// <param name="At">When it was decided.</param>
public sealed record LessonCharge(ChargeCode Code, bool Chargeable, ChargeAct Act, Instant Start, Instant FreeUntil, Instant At)
{
    /// <summary>The notice of the terms by which it was decided.</summary>
    public Duration Notice => Start - FreeUntil;

    /// <summary>How long before the start it is done; negative once the lesson has begun.</summary>
    public Duration Ahead => Start - At;

    /// <summary>Decides by the terms of the day.</summary>
    /// <remarks>
    /// What the school, its instructors, its cars or the weather bring about costs a pupil nothing, however late. What the pupil brings
    /// about is free up to the last free moment (<see cref="ChargeTerms.IsFree"/>). Not being there is always the pupil's.
    /// </remarks>
    /// <param name="act">What is done with the lesson.</param>
    /// <param name="cause">Who or what brings it about; not looked at when the pupil was not there.</param>
    /// <param name="start">The start of the lesson as it stands, before it is moved.</param>
    /// <param name="at">The moment of the decision.</param>
    /// <param name="terms">The school's terms at that moment.</param>
    /// <param name="waive">The school lets a charge pass; what costs nothing anyway keeps its own code.</param>
    public static LessonCharge Decide(ChargeAct act, ChargeCause cause, Instant start, Instant at, ChargeTerms terms, bool waive = false)
    {
        var code = act is ChargeAct.Missed ? ChargeCode.Missed : CodeOf(act, cause, terms.IsFree(start, at));
        var chargeable = code is ChargeCode.Late or ChargeCode.Missed || (code is ChargeCode.LateMove && terms.ChargesLateMoves);
        return new(waive && chargeable ? ChargeCode.Waived : code, chargeable && !waive, act, start, terms.FreeUntil(start), at);
    }

    private static ChargeCode CodeOf(ChargeAct act, ChargeCause cause, bool inTime) => cause switch
    {
        ChargeCause.InstructorIll => ChargeCode.FreeInstructorIll,
        ChargeCause.Weather => ChargeCode.FreeWeather,
        ChargeCause.Car => ChargeCode.FreeCar,
        ChargeCause.School => ChargeCode.FreeSchool,
        ChargeCause.Pupil => inTime ? ChargeCode.FreeInTime : act is ChargeAct.Move ? ChargeCode.LateMove : ChargeCode.Late,
    };
}
