using NodaTime;

namespace School.Core.Diary;

/// <summary>Something in a day that is worked or driven to.</summary>
/// <param name="During">When.</param>
/// <param name="IsLesson">Whether it is work; otherwise only a place to be.</param>
/// <param name="DriveTo">Minutes of the leg that leads to it.</param>
/// <param name="Entry">The entry in the diary, if it has one yet.</param>
internal readonly record struct WorkItem(Stretch During, bool IsLesson, int DriveTo, DiaryEntry? Entry = null);

/// <summary>The rest rule.</summary>
/// <remarks>
/// Work is lessons and the legs between them; the first leg counts when the school says so and it leads to a lesson.
/// A gap between two lessons holds a rest when the time in it that is not driven (free, off or busy) is at least
/// <see cref="DiaryRules.RestMinutes"/>; the rest is taken on arrival, so after it the count begins at nothing. When the
/// work since the last rest, up to the end of a lesson, is at least <see cref="DiaryRules.RestAfterMinutes"/> and another
/// lesson follows, the gap after it must hold a rest.
/// </remarks>
internal static class RestRule
{
    /// <summary>The first item that begins without a rest due before it; null when the day is fine.</summary>
    public static int? FirstWithoutRest(IReadOnlyList<WorkItem> day, DiaryRules rules)
    {
        if (rules.RestMinutes == 0)
            return null;
        var (rest, limit) = (Duration.FromMinutes(rules.RestMinutes), Duration.FromMinutes(rules.RestAfterMinutes));
        var (worked, driving) = (Duration.Zero, Duration.Zero);
        Instant? lessonEnded = null;
        for (var i = 0; i < day.Count; i++)
        {
            var item = day[i];
            driving += Duration.FromMinutes(item.DriveTo);
            if (!item.IsLesson)
                continue;
            if (lessonEnded is { } ended)
            {
                if (item.During.Start - ended - driving >= rest)
                    worked = Duration.Zero;
                else if (worked >= limit)
                    return i;
                else
                    worked += driving;
            }
            else if (i == 0 && rules.FirstLegIsWork)
            {
                worked = driving;
            }
            worked += item.During.Length;
            (lessonEnded, driving) = (item.During.End, Duration.Zero);
        }
        return null;
    }
}
