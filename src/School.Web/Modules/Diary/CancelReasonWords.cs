namespace School.Web.Modules.Diary;

internal static class CancelReasonWords
{
    public static string Words(this CancelReason reason) => reason switch
    {
        CancelReason.Pupil => "the pupil cannot come",
        CancelReason.InstructorIll => "the instructor is ill",
        CancelReason.Weather => "the weather",
        CancelReason.Car => "the car",
        CancelReason.Other => "another reason",
        _ => throw new ArgumentOutOfRangeException(nameof(reason)),
    };
}
