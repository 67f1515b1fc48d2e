using NodaTime;

namespace School.Core.Diary.Charges;

/// <summary>The school's terms for backing out of a lesson, as they stand when it is decided.</summary>
/// <remarks>How much notice a school asks for is its own choice; there is no published rule.</remarks>
/// <param name="FreeHours">A pupil backs out free of charge at least this many hours ahead; 0 to 720.</param>
public sealed record ChargeTerms(int FreeHours)
{
    /// <summary>Whether a lesson that the school moves inside the notice because its pupil asks for it is charged.</summary>
    public bool ChargesLateMoves { get; init; }

    /// <summary>The last moment at which the pupil of a lesson backs out free of charge.</summary>
    /// <remarks>
    /// Hours that pass, not hours of the clock on the wall: where the clocks change in between, the moment stands an hour
    /// earlier or later on the wall, and the notice is as long as ever.
    /// </remarks>
    /// <param name="start">The start of the lesson.</param>
    public Instant FreeUntil(Instant start) => start - Duration.FromHours(FreeHours);

    /// <summary>Whether backing out is free of charge at a moment.</summary>
    /// <remarks>
    /// The moment itself is free: the notice is "at least so many hours", and whoever reads "free until 10:00" and acts as the clock
    /// strikes ten has kept to what they read.
    /// </remarks>
    /// <param name="start">The start of the lesson.</param>
    /// <param name="at">When it is done.</param>
    public bool IsFree(Instant start, Instant at) => at <= FreeUntil(start);

    /// <summary>
    /// Whether a change of a lesson makes it dearer for its pupil to back out of it: it is longer when that is no longer free, or it comes so near that it
    /// no longer is.
    /// </summary>
    /// <param name="from">The start as it stands.</param>
    /// <param name="fromMinutes">Minutes of teaching as they stand.</param>
    /// <param name="to">The new start.</param>
    /// <param name="toMinutes">The new minutes of teaching.</param>
    /// <param name="at">When it is changed.</param>
    public bool MakesDearer(Instant from, int fromMinutes, Instant to, int toMinutes, Instant at) =>
        !IsFree(to, at) && (IsFree(from, at) || toMinutes > fromMinutes);
}
