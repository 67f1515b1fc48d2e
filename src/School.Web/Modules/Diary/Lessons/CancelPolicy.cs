using NodaTime;
using School.Core.Diary;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Whether a cancelled or missed lesson is charged, and the rule that decided in words.</summary>
/// <param name="Chargeable">Whether it is charged.</param>
/// <param name="Policy">The rule, for the record.</param>
/// <param name="Beforehand">The rule for whoever asks before it is done, where the record would tell it as done.</param>
internal sealed record ChargeDecision(bool Chargeable, string Policy, string? Beforehand = null);

/// <summary>The school's policy on late cancellations, as it stands today.</summary>
internal static class CancelPolicy
{
    public static ChargeDecision OfMissed { get; } = new(true, "The pupil was not there; a missed lesson is charged.");

    public static ChargeDecision OfMissedWaived { get; } = new(false, "The pupil was not there; the school waived the charge.");

    /// <summary>Until when the pupil cancels free of charge.</summary>
    public static Instant FreeUntil(Instant start, DiaryRules rules) => start - Duration.FromHours(rules.NoticeToMoveHours);

    public static ChargeDecision Decide(Lesson lesson, CancelReason reason, Viewer viewer, DiaryRules rules, Instant now) => reason switch
    {
        CancelReason.InstructorIll => new(false, "The instructor is ill, so it is not charged."),
        CancelReason.Weather => new(false, "Cancelled for the weather, so it is not charged.", "It is called off for the weather, so it is not charged."),
        CancelReason.Car => new(false, "Cancelled because of the car, so it is not charged.", "It is called off because of the car, so it is not charged."),
        CancelReason.Other when viewer.IsStaff => new(false, "Cancelled by the school, so it is not charged.", "The school calls it off, so it is not charged."),
        CancelReason.Other or CancelReason.Pupil => new(
            now > FreeUntil(lesson.StartsAt, rules), $"{Done(lesson.StartsAt - now)}; {FreeWords(rules)}.", $"{ToDo(lesson.StartsAt - now)}; it is {FreeWords(rules)}."),
    };

    private static string FreeWords(DiaryRules rules) =>
        rules.NoticeToMoveHours == 0 ? "free until it begins" : $"free until {Words.Count(rules.NoticeToMoveHours, "hour")} before";

    private static string Done(Duration ahead) => ahead < Duration.Zero ? "Cancelled after it had begun" : $"Cancelled {Hours(ahead)} before";

    private static string ToDo(Duration ahead) => ahead < Duration.Zero ? "The lesson has begun already" : $"If you cancel now, that is {Hours(ahead)} before the lesson";

    private static string Hours(Duration ahead) => ahead < Duration.FromHours(1) ? "less than an hour" : Words.Count((int)ahead.TotalHours, "hour");
}
