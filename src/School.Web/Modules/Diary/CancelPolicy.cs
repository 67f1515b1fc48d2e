using NodaTime;
using School.Core.Diary;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary;

/// <summary>Whether a cancelled or missed lesson is charged, and the rule that decided in words.</summary>
internal sealed record ChargeDecision(bool Chargeable, string Policy);

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
        CancelReason.Weather => new(false, "Cancelled for the weather, so it is not charged."),
        CancelReason.Car => new(false, "Cancelled because of the car, so it is not charged."),
        CancelReason.Other when viewer.IsStaff => new(false, "Cancelled by the school, so it is not charged."),
        CancelReason.Other or CancelReason.Pupil => new(now > FreeUntil(lesson.StartsAt, rules), $"{Ahead(lesson.StartsAt - now)}; {FreeWords(rules)}."),
        _ => throw new ArgumentOutOfRangeException(nameof(reason)),
    };

    private static string FreeWords(DiaryRules rules) =>
        rules.NoticeToMoveHours == 0 ? "free until it begins" : $"free until {Words.Count(rules.NoticeToMoveHours, "hour")} before";

    private static string Ahead(Duration ahead) => ahead < Duration.Zero
        ? "Cancelled after it had begun"
        : ahead < Duration.FromHours(1) ? "Cancelled less than an hour before" : $"Cancelled {Words.Count((int)ahead.TotalHours, "hour")} before";
}
