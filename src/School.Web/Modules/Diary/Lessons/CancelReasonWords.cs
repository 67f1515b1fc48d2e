namespace School.Web.Modules.Diary.Lessons;

internal static class CancelReasonWords
{
    /// <summary>As a choice on a form: "The instructor is ill".</summary>
    public static string Label(this CancelReason reason) => char.ToUpperInvariant(reason.Words()[0]) + reason.Words()[1..];

    public static string Words(this CancelReason reason) => reason switch
    {
        CancelReason.Pupil => "the pupil cannot come",
        CancelReason.InstructorIll => "the instructor is ill",
        CancelReason.Weather => "the weather",
        CancelReason.Car => "the car",
        CancelReason.Other => "another reason",
    };
}
