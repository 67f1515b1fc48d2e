using NodaTime;

namespace School.Core.Travel;

/// <summary>How long it takes to drive from one place to another.</summary>
/// <remarks>Of the time of leaving only the day of the week and the hour may matter: an answer is kept for all drives between the
/// two places that leave in the same hour of the same weekday.</remarks>
public interface ITravelTimes
{
    /// <summary>The drive between two places when leaving at a local time. Never fails: a source that cannot answer
    /// falls back to an estimate.</summary>
    Leg Between(Coordinates origin, Coordinates destination, LocalDateTime leaving);
}

/// <summary>A drive between two places.</summary>
/// <param name="Minutes">Whole minutes, rounded up; 0 only when there is nothing to drive.</param>
/// <param name="Miles">Statute miles by road.</param>
public readonly record struct Leg(int Minutes, double Miles)
{
    /// <summary>Staying where one is.</summary>
    public static readonly Leg None;
}
