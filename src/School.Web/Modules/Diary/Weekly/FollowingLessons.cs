using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>A weekly lesson and those after it that are still booked, by start. The first is the one that was asked about.</summary>
internal sealed class FollowingLessons(SchoolDb db, LessonLocks locks, SchoolInfo school)
{
    private static readonly Refusal Changed = Refusal.Conflict("lesson_changed", "Somebody changed one of these lessons a moment ago. Look at them again.");

    public async Task<Outcome<List<Lesson>>> FindAsync(Guid lessonId, Viewer viewer, CancellationToken cancel)
    {
        var visible = db.Set<Lesson>().AsNoTracking().VisibleTo(viewer);
        if (await visible.SingleOrDefaultAsync(l => l.Id == lessonId, cancel) is not { } first)
        {
            return Refusal.NotFound("lesson");
        }

        if (first.SeriesId is null)
        {
            return Refusal.Rule("not_weekly", "This lesson was booked by itself, so no others follow it. Change it alone.");
        }

        if (first.NotOpen("changed") is { } closed)
        {
            return closed;
        }

        return await visible.Where(l => l.SeriesId == first.SeriesId && l.StartsAt >= first.StartsAt && l.State == LessonState.Booked)
            .OrderBy(l => l.StartsAt).ToListAsync(cancel);
    }

    /// <summary>The same lessons to be changed, under the locks of the days they leave and go to; refused when they are no longer as they were.</summary>
    public async Task<Outcome<List<Lesson>>> LockAsync(
        IReadOnlyList<Lesson> lessons, IEnumerable<DiaryDay> going, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var leaving = lessons.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date));
        await locks.TakeAsync(lessons[0].PupilId, [.. leaving.Concat(going).Distinct()], lessons.Select(l => l.CarId).Distinct(), cancel);
        var ids = lessons.Select(l => l.Id).ToList();
        var now = await db.Set<Lesson>().Where(l => ids.Contains(l.Id)).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        return now.Select(l => (l.Id, l.Version)).SequenceEqual(lessons.Select(l => (l.Id, l.Version))) ? now : Changed;
    }
}
