using NodaTime;

namespace School.Web.Modules.Diary.Covers;

/// <summary>When the pupil of a lesson can come instead.</summary>
internal static class CoverWindows
{
    /// <summary>So many minutes to either side of its own time, on its date.</summary>
    public static IReadOnlyList<Interval> Of(Lesson lesson, int mayMoveMinutes, DateTimeZone zone)
    {
        if (mayMoveMinutes == 0)
        {
            return [];
        }

        var date = lesson.StartsAt.InZone(zone).Date;
        var (by, day) = (Duration.FromMinutes(mayMoveMinutes), zone.AtStartOfDay(date).ToInstant());
        return [new(Instant.Max(day, lesson.StartsAt - by), Instant.Min(zone.AtStartOfDay(date.PlusDays(1)).ToInstant(), lesson.EndsAt + by))];
    }
}
