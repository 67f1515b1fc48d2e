using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>Travel times for one search: asked by moment instead of local time, each question only once.</summary>
internal sealed class Legs(ITravelTimes travel, DateTimeZone zone)
{
    private readonly Dictionary<(Coordinates, Coordinates, Instant), Leg> known = [];

    public Leg Between(Coordinates origin, Coordinates destination, Instant leaving)
    {
        var question = (origin, destination, leaving);
        if (!known.TryGetValue(question, out var leg))
        {
            known[question] = leg = travel.Between(origin, destination, leaving.InZone(zone).LocalDateTime);
        }

        return leg;
    }

    public int Minutes(Coordinates origin, Coordinates destination, Instant leaving) =>
        Between(origin, destination, leaving).Minutes;
}
