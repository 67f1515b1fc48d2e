using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Lets lessons of one transaction change places with each other.</summary>
internal static class LessonSwaps
{
    private const string Constraints = "diary.lessons_instructor_once, diary.lessons_pupil_once, diary.lessons_car_once";

    /// <summary>
    /// Saves what was changed. One lesson may stand where another still is until all are written; then the constraints are asked,
    /// so that a clash is met here and not at the end of the transaction.
    /// </summary>
    public static async Task SaveSwappingAsync(this SchoolDb db, CancellationToken cancel)
    {
        await db.Database.ExecuteSqlRawAsync($"SET CONSTRAINTS {Constraints} DEFERRED", cancel);
        await db.SaveChangesAsync(cancel);
        await db.Database.ExecuteSqlRawAsync($"SET CONSTRAINTS {Constraints} IMMEDIATE", cancel);
    }
}
