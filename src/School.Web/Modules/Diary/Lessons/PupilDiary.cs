using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>What the module about pupils asks of the diary.</summary>
internal sealed class PupilDiary(SchoolDb db, LessonBook lessons, TestBook tests, PictureLoader pictures, IClock clock) : IPupilDiary
{
    public Task<IReadOnlyList<PupilLessonCard>> LessonsAsync(Guid pupilId, int eachWay, Viewer viewer, CancellationToken cancel) =>
        lessons.OfPupilAsync(pupilId, eachWay, viewer, cancel);

    public async Task<bool> GivesCoursesAsync(Viewer viewer, CancellationToken cancel) =>
        viewer.May(Permission.PlanCourses) && (await pictures.RulesAsync(cancel)).KindOf(LessonKind.Intensive).NotFor(viewer) is null;

    public async Task<string?> NavigateAsync(Place place, CancellationToken cancel) =>
        place.IsFound ? MapLinks.Of((await pictures.RulesAsync(cancel)).MapLink, place.At()) : null;

    public async Task<IReadOnlyDictionary<Guid, Instant>> NextAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        if (pupilIds.Count == 0)
        {
            return new Dictionary<Guid, Instant>();
        }

        var now = clock.GetCurrentInstant();
        return await db.Set<Lesson>().Where(l => pupilIds.Contains(l.PupilId) && l.State == LessonState.Booked && l.StartsAt > now)
            .GroupBy(l => l.PupilId).Select(own => new { own.Key, Start = own.Min(l => l.StartsAt) }).ToDictionaryAsync(own => own.Key, own => own.Start, cancel);
    }

    public Task<IReadOnlyList<PupilTestCard>> TestsAsync(Guid pupilId, CancellationToken cancel) => tests.OfPupilAsync(pupilId, cancel);

    public IQueryable<Guid> Taught(Guid instructorId, Interval within, Guid? butBy = null)
    {
        var (from, until) = (within.Start, within.End);
        var lessons = db.Set<Lesson>().Where(l => l.InstructorId == instructorId && l.StartsAt >= from && l.StartsAt < until && l.State != LessonState.Cancelled);
        var tests = db.Set<TestDay>().Where(t => t.InstructorId == instructorId && t.StartsAt >= from && t.StartsAt < until);
        if (butBy is { } person)
        {
            var given = db.Set<LessonChange>().Where(c => c.InstructorId == instructorId && (c.Kind == ChangeKind.Booked || c.Kind == ChangeKind.Moved));
            lessons = lessons.Where(l => given.Any(c => c.LessonId == l.Id && c.ByPersonId != person) || !given.Any(c => c.LessonId == l.Id));
            // A line about a test does not say whose it was, so one touched by them is left out.
            tests = tests.Where(t => !db.Set<TestDayChange>().Any(c => c.TestDayId == t.Id && c.ByPersonId == person));
        }

        return lessons.Select(l => l.PupilId).Concat(tests.Select(t => t.PupilId));
    }

    public IQueryable<Guid> PupilOf(Guid lessonId, Guid? givenBy) =>
        db.Set<Lesson>().Where(l => l.Id == lessonId && (givenBy == null || l.InstructorId == givenBy)).Select(l => l.PupilId);

    // Asked of each by itself, so that the index of the pupil serves: ten years on all who ever passed are many times those who learn.
    public async Task<IReadOnlySet<Guid>> PassedAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel) =>
        await db.Database.SqlQuery<Guid>(
            $"""
             SELECT p.id AS "Value" FROM unnest({pupilIds.ToArray()}) AS p (id)
             WHERE (SELECT t.id FROM diary.test_days AS t WHERE t.state = 'Passed' AND t.pupil_id = p.id LIMIT 1) IS NOT NULL
             """).ToHashSetAsync(cancel);
}
