using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A test day as a calendar feed needs it: the test itself, and the time kept around it.</summary>
internal sealed record FeedTest(
    Guid Id, Instant StartsAt, Instant BlockedFrom, Instant BlockedUntil, bool IsTakenOff, int Sequence, Instant EnteredAt, Instant ChangedAt,
    Guid PupilId, Guid? InstructorId, Place Centre);

/// <summary>A test day as the page about its pupil shows it.</summary>
internal sealed record PupilTestCard(Guid Id, Instant StartsAt, string Centre, string State);

/// <summary>When a pupil passed.</summary>
internal sealed record PassedTest(Guid PupilId, Instant StartsAt);

/// <summary>What other modules may ask about test days.</summary>
internal sealed class TestBook(SchoolDb db)
{
    /// <summary>Test days from a moment on. Those taken off only when that happened since <paramref name="takenOffSince"/>.</summary>
    public async Task<IReadOnlyList<FeedTest>> ForFeedAsync(
        Instant from, Instant takenOffSince, CancellationToken cancel, Guid? instructorId = null, Guid? pupilId = null, Guid? carId = null)
    {
        var rows = await db.Set<TestDay>().AsNoTracking()
            .Where(t => (pupilId == null || t.PupilId == pupilId) && (carId == null || t.CarId == carId) && (instructorId == null || t.InstructorId == instructorId))
            .Where(t => t.BlockedUntil > from && (t.State != TestDayState.TakenOff || t.ChangedAt >= takenOffSince))
            .OrderBy(t => t.BlockedFrom).ThenBy(t => t.Id).ToListAsync(cancel);
        return rows.ConvertAll(t => new FeedTest(
            t.Id, t.StartsAt, t.BlockedFrom, t.BlockedUntil, t.State == TestDayState.TakenOff, t.Sequence, t.EnteredAt, t.ChangedAt, t.PupilId, t.InstructorId, t.Centre));
    }

    /// <summary>All of a pupil's test days, latest first.</summary>
    public async Task<IReadOnlyList<PupilTestCard>> OfPupilAsync(Guid pupilId, CancellationToken cancel)
    {
        var rows = await db.Set<TestDay>().AsNoTracking().Where(t => t.PupilId == pupilId).OrderByDescending(t => t.StartsAt).ToListAsync(cancel);
        return rows.ConvertAll(t => new PupilTestCard(t.Id, t.StartsAt, t.Centre.Label, TestDayWords.Of(t)));
    }

    /// <summary>The first passed test of each pupil who has one, latest first, at most so many; of one pupil where an id is given.</summary>
    public async Task<IReadOnlyList<PassedTest>> PassedAsync(int most, CancellationToken cancel, Guid? pupilId = null)
    {
        var rows = await db.Set<TestDay>().AsNoTracking().Where(t => t.State == TestDayState.Passed && (pupilId == null || t.PupilId == pupilId))
            .GroupBy(t => t.PupilId).Select(tests => new { PupilId = tests.Key, StartsAt = tests.Min(t => t.StartsAt) })
            .OrderByDescending(test => test.StartsAt).ThenBy(test => test.PupilId).Take(most).ToListAsync(cancel);
        return rows.ConvertAll(test => new PassedTest(test.PupilId, test.StartsAt));
    }
}
