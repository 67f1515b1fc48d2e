using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Diary.Lessons;

namespace School.Web.Modules.Diary.Covers;

/// <summary>When the pupil of a lesson can come instead.</summary>
internal static class CoverWindows
{
    /// <summary>So many minutes to either side of its own time, on its date; of these only the times that the pupil recorded, where there are any.</summary>
    public static IReadOnlyList<Interval> Of(Lesson lesson, IReadOnlyList<AvailableTime> recorded, int mayMoveMinutes, DateTimeZone zone)
    {
        if (mayMoveMinutes == 0)
        {
            return [];
        }

        var date = lesson.StartsAt.InZone(zone).Date;
        var (by, day) = (Duration.FromMinutes(mayMoveMinutes), zone.AtStartOfDay(date).ToInstant());
        var near = new Interval(Instant.Max(day, lesson.StartsAt - by), Instant.Min(zone.AtStartOfDay(date.PlusDays(1)).ToInstant(), lesson.EndsAt + by));
        return recorded.Count == 0
            ? [near]
            : [.. AvailableTime.On(recorded, date, zone)
                .Select(time => (Start: Instant.Max(time.Start, near.Start), End: Instant.Min(time.End, near.End)))
                .Where(time => time.Start < time.End).Select(time => new Interval(time.Start, time.End))];
    }
}
