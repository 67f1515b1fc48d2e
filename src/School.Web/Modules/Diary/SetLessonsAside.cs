using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>
/// Lets lessons of one transaction change places with each other. The constraints that keep anybody from being booked twice look at
/// each row as it is written; so all go far into the future first, in the same order, and come back with what they change to.
/// </summary>
internal static class SetLessonsAside
{
    private static readonly Duration FarAway = Duration.FromDays(400 * 365);

    /// <summary>For lessons that the context follows; call before saving what changes.</summary>
    public static async Task SetAsideAsync(this SchoolDb db, IReadOnlyCollection<Lesson> lessons, CancellationToken cancel)
    {
        var ids = lessons.Select(l => l.Id).ToArray();
        await db.Set<Lesson>().Where(l => ids.Contains(l.Id)).ExecuteUpdateAsync(
            row => row.SetProperty(l => l.StartsAt, l => l.StartsAt + FarAway).SetProperty(l => l.EndsAt, l => l.EndsAt + FarAway), cancel);
        foreach (var lesson in lessons)
        {
            db.Entry(lesson).Property(l => l.StartsAt).IsModified = true;
            db.Entry(lesson).Property(l => l.EndsAt).IsModified = true;
        }
    }
}
