using NodaTime;

namespace School.Core.Diary.Slots;

/// <summary>The drives to and from a lesson in an opening, as they are for starts within one hour.</summary>
internal readonly struct Drives(Opening opening, int legBefore, int legAfter, DiaryRules rules, PreparedDay day)
{
    public Opening Opening { get; } = opening;

    public int LegBefore { get; } = legBefore;

    public int LegAfter { get; } = legAfter;

    public long From { get; } = opening.Before?.Moment ?? day.WorkBegins;

    public long Until { get; } = opening.After?.Moment ?? day.WorkEnds;

    public long NeedBefore { get; } = opening.Before is not null || rules.FirstLegIsWork
        ? (legBefore + rules.BufferMinutes) * NodaConstants.TicksPerMinute : 0;

    public long NeedAfter { get; } = opening.After is not null || rules.LastLegIsWork
        ? (legAfter + rules.BufferMinutes) * NodaConstants.TicksPerMinute : 0;

    /// <summary>Minutes of driving that the lesson adds.</summary>
    public int Extra { get; } = Math.Max(0, legBefore + legAfter - opening.DirectLeg);
}
