using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>What the module about pupils asks of the diary.</summary>
internal sealed class PupilDiary(SchoolDb db, LessonBook lessons, TestBook tests) : IPupilDiary
{
    public Task<IReadOnlyList<PupilLessonCard>> LessonsAsync(Guid pupilId, int eachWay, Viewer viewer, CancellationToken cancel) =>
        lessons.OfPupilAsync(pupilId, eachWay, viewer, cancel);

    public Task<IReadOnlyList<PupilTestCard>> TestsAsync(Guid pupilId, CancellationToken cancel) => tests.OfPupilAsync(pupilId, cancel);

    public async Task<IReadOnlySet<Guid>> PassedAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel) =>
        await db.Set<TestDay>().AsNoTracking().Where(t => t.State == TestDayState.Passed && pupilIds.Contains(t.PupilId)).Select(t => t.PupilId).ToHashSetAsync(cancel);
}
