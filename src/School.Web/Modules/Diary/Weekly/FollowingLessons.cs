using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>A weekly lesson and those after it that are still booked, by start. The first is the one that was asked about.</summary>
internal sealed class FollowingLessons(SchoolDb db)
{
    public static readonly Refusal Changed = Refusal.Conflict("lesson_changed", "Somebody changed one of these lessons a moment ago. Look at them again.");

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
}
