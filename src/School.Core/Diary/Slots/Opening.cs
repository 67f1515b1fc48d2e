using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>A place and its number.</summary>
internal readonly record struct PlaceOnMap(Coordinates At, int Number);

/// <summary>The placed entry beside an opening.</summary>
/// <param name="Moment">When it ends or begins, in ticks.</param>
/// <param name="Place">Where it ends or begins.</param>
/// <param name="Leaving">The local time at which the instructor leaves it.</param>
/// <param name="CarId">Its car.</param>
internal sealed record Stop(long Moment, PlaceOnMap Place, LocalDateTime Leaving, Guid? CarId);

/// <summary>The time between two neighbouring entries, placed or not, and all that a lesson in it has to know of the rest of the day.</summary>
/// <param name="From">When the entries before are over; the beginning of time when there are none.</param>
/// <param name="Until">When the next begins; the end of time when there is none.</param>
/// <param name="Before">The placed entry before; null for the instructor's base.</param>
/// <param name="After">The placed entry after; null for the instructor's base.</param>
/// <param name="DirectLeg">Minutes of the leg that the lesson's two legs replace.</param>
/// <param name="Item">The first work item after it.</param>
/// <param name="Worked">The count of work before it.</param>
/// <param name="RestIsLacking">Whether a rest is lacking before it already.</param>
internal sealed record Opening(
    long From, long Until, Stop? Before, Stop? After, int DirectLeg, int Item, RestCount Worked, bool RestIsLacking);

/// <summary>A half-open period in ticks of 100 ns.</summary>
internal readonly record struct Ticks(long Start, long End)
{
    public static Ticks Of(Stretch stretch) => new(stretch.Start.ToUnixTimeTicks(), stretch.End.ToUnixTimeTicks());

    /// <summary>How much of a period some others fill that do not overlap.</summary>
    public static long Overlap(Ticks[] periods, long from, long until)
    {
        var sum = 0L;
        foreach (var period in periods)
        {
            sum += Math.Max(0, Math.Min(period.End, until) - Math.Max(period.Start, from));
        }

        return sum;
    }

    /// <summary>What is left of some periods without others; both in order.</summary>
    public static IEnumerable<Ticks> Without(Ticks[] periods, Ticks[] others)
    {
        foreach (var period in periods)
        {
            var at = period.Start;
            foreach (var other in others.Where(other => other.End > period.Start && other.Start < period.End))
            {
                if (other.Start > at)
                {
                    yield return new(at, other.Start);
                }

                at = other.End;
            }
            if (at < period.End)
            {
                yield return new(at, period.End);
            }
        }
    }
}
