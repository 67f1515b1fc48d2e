using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A charge in a sentence for its reader, made from its code and facts.</summary>
internal static class ChargeWords
{
    /// <summary>As it is told afterwards: "Cancelled 50 hours before; free until 48 hours before."</summary>
    public static string Done(this LessonCharge charge, Viewer reader) => charge.Done(!reader.IsStaff);

    /// <summary>The same in a letter to the pupil.</summary>
    /// <param name="charge">The charge.</param>
    /// <param name="inHours">Counts in hours whatever is long before, as letters did that went in a former edition.</param>
    public static string DoneToPupil(this LessonCharge charge, bool inHours) => charge.Done(toPupil: true, inHours ? Hours : Long);

    /// <summary>The same where anybody may read it, as in a history.</summary>
    public static string DoneToAnybody(this LessonCharge charge) => charge.Done(toPupil: false);

    /// <summary>As it is told to whoever asks before it is done: "If you cancel now, that is 50 hours before the lesson; it is free until 48 hours before."</summary>
    public static string Beforehand(this LessonCharge charge, Viewer reader)
    {
        var (calls, now) = charge.Act is ChargeAct.Move ? ("moves it", "move it now") : ("calls it off", "cancel now");
        var off = charge.Act is ChargeAct.Move ? "It is moved" : "It is called off";
        return charge.Code switch
        {
            ChargeCode.FreeInstructorIll => charge.Done(reader),
            ChargeCode.FreeWeather => $"{off} for the weather, so it is not charged.",
            ChargeCode.FreeCar => $"{off} because of the car, so it is not charged.",
            ChargeCode.FreeSchool => $"The school {calls}, so it is not charged.",
            ChargeCode.FreeInTime or ChargeCode.Late => $"{Ahead()}; it is {charge.FreeWords()}.",
            ChargeCode.LateMove => $"{Ahead()}; it is {charge.FreeWords()}. {charge.Cost()}",
            ChargeCode.Missed or ChargeCode.Waived => charge.Done(reader),
        };

        string Ahead() => charge.Ahead < Duration.Zero ? "The lesson has begun already" : $"If you {now}, that is {Long(charge.Ahead)} before the lesson";
    }

    private static string Done(this LessonCharge charge, bool toPupil, Func<Duration, string>? length = null)
    {
        var done = charge.Act is ChargeAct.Move ? "Moved" : "Cancelled";
        var notThere = toPupil ? "You were not there" : "The pupil was not there";
        return charge.Code switch
        {
            ChargeCode.FreeInstructorIll => "The instructor is ill, so it is not charged.",
            ChargeCode.FreeWeather => $"{done} for the weather, so it is not charged.",
            ChargeCode.FreeCar => $"{done} because of the car, so it is not charged.",
            ChargeCode.FreeSchool => $"{done} by the school, so it is not charged.",
            ChargeCode.FreeInTime or ChargeCode.Late => $"{When()}; {charge.FreeWords()}.",
            ChargeCode.LateMove => $"{When()}; {charge.FreeWords()}. {charge.Cost()}",
            ChargeCode.Missed => $"{notThere}; a missed lesson is charged.",
            ChargeCode.Waived => $"{(charge.Act is ChargeAct.Missed ? notThere : When())}; the school waived the charge.",
        };

        string When() => charge.Ahead < Duration.Zero ? $"{done} after it had begun" : $"{done} {(length ?? Long)(charge.Ahead)} before";
    }

    private static string Cost(this LessonCharge charge) => charge.Chargeable ? "A late move is charged." : "The school does not charge it.";

    private static string FreeWords(this LessonCharge charge) =>
        charge.Notice == Duration.Zero ? "free until it begins" : $"free until {Words.Count((int)charge.Notice.TotalHours, "hour")} before";

    // Nobody counts in hours what is more than three days off.
    private static string Long(Duration ahead) => ahead < Duration.FromDays(3) ? Hours(ahead) : Words.Count(ahead.Days, "day");

    private static string Hours(Duration ahead) => ahead < Duration.FromHours(1) ? "less than an hour" : Words.Count((int)ahead.TotalHours, "hour");
}
