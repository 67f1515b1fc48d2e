using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A test day as a calendar feed needs it: the test itself, and the time kept around it.</summary>
internal sealed record FeedTest(
    Guid Id, Instant StartsAt, Instant BlockedFrom, Instant BlockedUntil, bool IsTakenOff, int Sequence, Instant EnteredAt, Instant ChangedAt,
    Guid PupilId, Guid? InstructorId, Place Centre);

/// <summary>When a pupil passed.</summary>
internal sealed record PassedTest(Guid PupilId, Instant StartsAt);

/// <summary>The test that a pupil has ahead of them; <paramref name="MayOpen"/> says whether the test day is the viewer's to look at.</summary>
internal sealed record TestAhead(Guid Id, Instant StartsAt, string Centre, bool MayOpen);

/// <summary>A practical test of a pupil as their learning is judged by it.</summary>
/// <param name="Id">The test day.</param>
/// <param name="PupilId">Whose.</param>
/// <param name="InstructorId">Who went or goes along; null for nobody.</param>
/// <param name="StartsAt">When it begins.</param>
/// <param name="Passed">How it ended; null while it has no result.</param>
/// <param name="Sum">Its faults; none while it has no result.</param>
/// <param name="ByHeading">The same by heading, as far as entered.</param>
internal sealed record PupilTest(
    Guid Id, Guid PupilId, Guid? InstructorId, Instant StartsAt, bool? Passed, TestMarks Sum, IReadOnlyList<HeadingMarks> ByHeading);

/// <summary>What other modules may ask about test days.</summary>
internal sealed class TestBook(SchoolDb db, TestDayAccess access)
{
    /// <summary>No time that is kept for a test begins or ends further from its start.</summary>
    public static readonly Duration Longest = Duration.FromMinutes(TestDay.MostAround + SaveTestDaySettings.LongestTest + TestDay.MostAround);

    /// <summary>Test days of a period. Those taken off only when that happened since <paramref name="takenOffSince"/>.</summary>
    public async Task<IReadOnlyList<FeedTest>> ForFeedAsync(
        Interval during, Instant takenOffSince, CancellationToken cancel, Guid? instructorId = null, Guid? pupilId = null, Guid? carId = null)
    {
        // Lets an index on the start alone bound the search: nothing is kept longer for a test.
        var (earliest, latest) = (during.Start - Longest, during.End + Longest);
        return await db.Set<TestDay>().AsNoTracking()
            .Where(t => (pupilId == null || t.PupilId == pupilId) && (carId == null || t.CarId == carId) && (instructorId == null || t.InstructorId == instructorId))
            .Where(t => t.StartsAt > earliest && t.StartsAt < latest && t.BlockedFrom < during.End && t.BlockedUntil > during.Start)
            .Where(t => t.State != TestDayState.TakenOff || t.ChangedAt >= takenOffSince)
            .OrderBy(t => t.BlockedFrom).ThenBy(t => t.Id)
            .Select(t => new FeedTest(
                t.Id, t.StartsAt, t.BlockedFrom, t.BlockedUntil, t.State == TestDayState.TakenOff, t.Sequence, t.EnteredAt, t.ChangedAt, t.PupilId, t.InstructorId, t.Centre))
            .ToListAsync(cancel);
    }

    /// <summary>All of a pupil's test days, latest first.</summary>
    public async Task<IReadOnlyList<PupilTestCard>> OfPupilAsync(Guid pupilId, CancellationToken cancel)
    {
        var rows = await db.Set<TestDay>().AsNoTracking().Where(t => t.PupilId == pupilId).OrderByDescending(t => t.StartsAt).ToListAsync(cancel);
        return rows.ConvertAll(t => new PupilTestCard(
            t.Id, t.StartsAt, t.Centre.Label, TestDayWords.Of(t), t.HasResult ? t.State is TestDayState.Passed : null, t.State is TestDayState.TakenOff, t.Gearbox));
    }

    /// <summary>The first passed test of each pupil who has one, latest first, at most so many; of one pupil where an id is given.</summary>
    public async Task<IReadOnlyList<PassedTest>> PassedAsync(int most, CancellationToken cancel, Guid? pupilId = null)
    {
        // From the latest back, so that no more are looked at than are asked for.
        var passed = db.Set<TestDay>().AsNoTracking().Where(t => t.State == TestDayState.Passed);
        if (pupilId is not null)
        {
            passed = passed.Where(t => t.PupilId == pupilId);
        }

        return await passed.Where(t => !passed.Any(earlier => earlier.PupilId == t.PupilId && earlier.StartsAt < t.StartsAt))
            .OrderByDescending(t => t.StartsAt).ThenBy(t => t.PupilId).Take(most).Select(t => new PassedTest(t.PupilId, t.StartsAt)).ToListAsync(cancel);
    }

    /// <summary>The next test of each of some pupils who has one ahead.</summary>
    public async Task<IReadOnlyDictionary<Guid, Instant>> NextAsync(IReadOnlyCollection<Guid> pupilIds, Instant after, CancellationToken cancel) =>
        await db.Set<TestDay>().AsNoTracking().Where(t => pupilIds.Contains(t.PupilId) && t.State == TestDayState.Booked && t.StartsAt > after)
            .GroupBy(t => t.PupilId).Select(tests => new { PupilId = tests.Key, StartsAt = tests.Min(t => t.StartsAt) }).ToDictionaryAsync(t => t.PupilId, t => t.StartsAt, cancel);

    /// <summary>The next test of a pupil from a moment on; null where none is booked.</summary>
    public async Task<TestAhead?> AheadAsync(Guid pupilId, Instant from, Viewer viewer, CancellationToken cancel)
    {
        var visible = access.Visible(viewer);
        return await db.Set<TestDay>().Where(t => t.PupilId == pupilId && t.State == TestDayState.Booked && t.StartsAt >= from).OrderBy(t => t.StartsAt)
            .Select(t => new TestAhead(t.Id, t.StartsAt, t.Centre.Label, visible.Any(seen => seen.Id == t.Id))).FirstOrDefaultAsync(cancel);
    }

    /// <summary>How many tests were taken, and passed: those to which an instructor went along, and those of some pupils; of the whole school without one.</summary>
    public async Task<(int Taken, int Passed)> ResultsAsync(Guid? instructorId, IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        var counts = await db.Set<TestDay>().Where(t => instructorId == null || t.InstructorId == instructorId || pupilIds.Contains(t.PupilId))
            .Where(t => t.State == TestDayState.Passed || t.State == TestDayState.Failed)
            .GroupBy(t => t.State).Select(tests => new { State = tests.Key, Count = tests.Count() }).ToDictionaryAsync(tests => tests.State, tests => tests.Count, cancel);
        return (counts.Values.Sum(), counts.GetValueOrDefault(TestDayState.Passed));
    }

    /// <summary>Tests of some pupils, ahead and taken, by start; those taken off the diary are left out.</summary>
    public async Task<IReadOnlyList<PupilTest>> OfPupilsAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel) => await TestsAsync(
        db.Set<TestDay>().Where(t => pupilIds.Contains(t.PupilId)), cancel);

    private static async Task<IReadOnlyList<PupilTest>> TestsAsync(IQueryable<TestDay> tests, CancellationToken cancel)
    {
        var rows = await tests.AsNoTracking().Where(t => t.State != TestDayState.TakenOff).OrderBy(t => t.StartsAt).ThenBy(t => t.Id).ToListAsync(cancel);
        return rows.ConvertAll(t => new PupilTest(
            t.Id, t.PupilId, t.InstructorId, t.StartsAt, t.HasResult ? t.State is TestDayState.Passed : null, t.Sum,
            [.. t.Marks.Select(marks => new HeadingMarks(marks.Heading, marks.Count()))]));
    }
}
