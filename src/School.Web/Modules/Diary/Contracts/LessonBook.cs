using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>What other modules may ask about lessons.</summary>
internal sealed class LessonBook(SchoolDb db, IClock clock)
{
    /// <summary>How many booked lessons are still to come.</summary>
    public Task<int> CountAheadAsync(Guid? pupilId = null, Guid? carId = null, Guid? instructorId = null, CancellationToken cancel = default)
    {
        var now = clock.GetCurrentInstant();
        return db.Set<Lesson>().CountAsync(
            l => l.State == LessonState.Booked && l.StartsAt > now
                && (pupilId == null || l.PupilId == pupilId) && (carId == null || l.CarId == carId) && (instructorId == null || l.InstructorId == instructorId),
            cancel);
    }
}
