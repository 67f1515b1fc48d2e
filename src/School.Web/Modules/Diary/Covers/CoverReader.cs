using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Cover;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Covers;

/// <summary>The lessons to cover and everybody who may, with the time off or the repair already in the picture.</summary>
/// <param name="Lessons">By start.</param>
/// <param name="Problem">What to work out.</param>
/// <param name="Loaded">The names that go with the ids, and the travel times.</param>
/// <param name="StatedBy">Pupils who stated when they can come: a lesson of theirs is moved to another time only within that.</param>
/// <param name="PlacesFound">Whether nobody drives from or to a place that is still to be found on those days.</param>
internal sealed record CoverReading(IReadOnlyList<Lesson> Lessons, CoverProblem Problem, LoadedPicture Loaded, IReadOnlySet<Guid> StatedBy, bool PlacesFound);

/// <summary>Reads what a search for cover looks at.</summary>
internal sealed class CoverReader(SchoolDb db, PictureLoader pictures, PupilBook pupils, PupilTimes times, AreaBook areas, SchoolInfo school, IClock clock)
{
    /// <summary>Null when no booked lesson still to start is touched.</summary>
    public async Task<CoverReading?> ReadAsync(CoverRequest ask, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var lessons = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.StartsAt > now && l.StartsAt < ask.End && l.EndsAt > ask.Start
                && (ask.InstructorId == null || l.InstructorId == ask.InstructorId) && (ask.CarId == null || l.CarId == ask.CarId))
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
        if (lessons.Count == 0)
        {
            return null;
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        var (from, to) = (lessons[0].StartsAt.InZone(zone).Date, lessons[^1].StartsAt.InZone(zone).Date);
        var loaded = await pictures.LoadAsync(from, to, only: null, cancel);
        var cards = await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel);
        var facts = await pictures.PupilsAsync([.. cards.Values], from, to, cancel);
        var recorded = await times.ReadAsync(lessons.Select(l => l.PupilId), cancel);
        var lie = await areas.WithAsync(loaded.Areas, lessons.Select(l => l.PickUp), cancel);
        var problem = new CoverProblem(Absent(ask, loaded.Picture), [.. lessons.Select(l => new CoverLesson(
            l.Id, l.InstructorId, facts[l.PupilId], l.During, l.PickUp.At(), l.DropOff.At(), CoverWindows.Of(l, recorded[l.PupilId], ask.MayMoveMinutes, zone)) { Kind = l.Kind, Breaks = l.Breaks, PickUpAreaId = lie.Of(l.PickUp) })]);
        return new(lessons, problem, loaded, recorded.Where(one => one.Value.Count > 0).Select(one => one.Key).ToHashSet(), !await AnyToFindAsync(loaded, cancel));
    }

    private async Task<bool> AnyToFindAsync(LoadedPicture loaded, CancellationToken cancel)
    {
        var entries = loaded.Picture.Instructors.SelectMany(diary => diary.Entries).ToLookup(entry => entry.Kind == EntryKind.Test, entry => entry.Id);
        var (lessonIds, testIds) = (entries[false].ToArray(), entries[true].ToArray());
        return await db.Set<Lesson>().ToBeFound().AnyAsync(l => lessonIds.Contains(l.Id), cancel)
            || (testIds.Length > 0 && await db.Set<TestDay>().AnyAsync(t => testIds.Contains(t.Id) && t.PickUp.Certainty == PlaceCertainty.ToBeFound, cancel));
    }

    private static DiaryPicture Absent(CoverRequest ask, DiaryPicture picture) => picture with
    {
        Instructors = [.. picture.Instructors.Select(diary =>
            diary.Instructor.Id == ask.InstructorId ? diary with { TimeOff = [.. diary.TimeOff, ask.During] } : diary)],
        Cars = [.. picture.Cars.Select(car => car.Id == ask.CarId ? car with { OffRoad = [.. car.OffRoad, ask.During] } : car)],
    };
}
