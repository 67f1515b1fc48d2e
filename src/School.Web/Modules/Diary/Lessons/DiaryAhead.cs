using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Booked lessons and tests still to start.</summary>
internal sealed class DiaryAhead(SchoolDb db, IClock clock) : IKeepAhead
{
    public async Task<StillAhead> StillAheadAsync(AheadOf whom, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var from = whom.Within is { HasStart: true } begins ? begins.Start : now;
        Instant? until = whom.Within is { HasEnd: true } ends ? ends.End : null;
        var lessons = await db.Set<Lesson>().CountAsync(
            l => l.State == LessonState.Booked && l.StartsAt > now && l.EndsAt > from && (until == null || l.StartsAt < until)
                && (whom.PupilId == null || l.PupilId == whom.PupilId)
                && (whom.InstructorId == null || l.InstructorId == whom.InstructorId)
                && (whom.CarId == null || l.CarId == whom.CarId), cancel);
        var tests = await db.Set<TestDay>().CountAsync(
            t => t.State == TestDayState.Booked && t.StartsAt > now && t.EndsAt > from && (until == null || t.StartsAt < until)
                && (whom.PupilId == null || t.PupilId == whom.PupilId)
                && (whom.InstructorId == null || t.InstructorId == whom.InstructorId)
                && (whom.CarId == null || t.CarId == whom.CarId), cancel);
        return new(lessons, tests);
    }
}
