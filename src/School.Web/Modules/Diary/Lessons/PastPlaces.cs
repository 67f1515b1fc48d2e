using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>
/// A lesson that an instructor gave stays in their diary with its time and the short name of its place. Where the door is, and what was noted, goes with the
/// sight of the pupil, once that is by name alone. A lesson to come keeps its places: it must be driven to. Whoever keeps the diary keeps them all.
/// </summary>
internal sealed class PastPlaces(OwnPupils own, IClock clock)
{
    /// <summary>For so long a lesson makes its pupil the instructor's own.</summary>
    public static readonly Duration Stays = Duration.FromDays(OwnPupils.DaysEachWay);

    /// <summary>Takes them off lessons that were read to be shown and are not tracked.</summary>
    public async Task VeilAsync(Viewer viewer, IEnumerable<Lesson> lessons, CancellationToken cancel)
    {
        if (viewer.KeepsDiary)
        {
            return;
        }

        var before = clock.GetCurrentInstant() - Stays;
        var over = lessons.Where(lesson => lesson.EndsAt < before).ToList();
        if (over.Count == 0)
        {
            return;
        }

        var seen = await own.OfAsync(viewer, [.. over.Select(lesson => lesson.PupilId).Distinct()], cancel);
        foreach (var lesson in over.Where(lesson => seen.GetValueOrDefault(lesson.PupilId) == Sight.Name))
        {
            lesson.Veil();
        }
    }
}
