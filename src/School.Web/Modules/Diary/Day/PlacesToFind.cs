using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>Booked lessons that begin or end at a place that is still to be found; a pupil's usual place is told with the pupil.</summary>
internal sealed class PlacesToFind(SchoolDb db, PupilBook pupils, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "lesson_place_to_find";

    private static readonly AttentionHeading Heading = new(34, "Lessons at places to be found", "Look at the lesson");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var lessons = await db.Set<Lesson>().AsNoTracking().ToBeFound().Where(l => l.State == LessonState.Booked && l.StartsAt > now).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        if (lessons.Count == 0)
        {
            return [];
        }

        var facts = await school.GetAsync(cancel);
        var cards = await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel);
        return
        [
            .. from lesson in lessons
               let pupil = cards[lesson.PupilId]
               let open = new[] { lesson.PickUp, lesson.DropOff }.Where(place => !place.IsFound).DistinctBy(place => place.Label).ToList()
               where open.Exists(place => place != pupil.PickUp)
               select new AttentionItem(
                   Kind, Heading,
                   $"{pupil.Name}, {facts.Moment(lesson.StartsAt)}: where {string.Join(" and ", open.Select(place => place.Label))} is, is still to be found. No drive from or to it is told.",
                   LessonLinks.Of(lesson.Id), lesson.StartsAt.InZone(facts.Zone).Date),
        ];
    }
}

internal static class LessonsToFind
{
    /// <summary>Those that begin or end at a place that is still to be found; guards.sql has an index of them.</summary>
    public static IQueryable<Lesson> ToBeFound(this IQueryable<Lesson> lessons) =>
        lessons.Where(l => l.PickUp.Certainty == PlaceCertainty.ToBeFound || l.DropOff.Certainty == PlaceCertainty.ToBeFound);
}
