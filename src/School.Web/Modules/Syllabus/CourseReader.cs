using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

/// <summary>All that a pupil did, earliest first, as far as it is reckoned with: no words of anybody.</summary>
internal sealed record LearnedCourse(IReadOnlyList<(Instant StartsAt, TaughtLesson Taught)> Lessons, IReadOnlyList<PracticeTime> Practice)
{
    public int MinutesTaught => Lessons.Sum(lesson => lesson.Taught.Minutes);

    public IReadOnlyDictionary<string, SkillStanding> Standings { get; } = SkillStanding.Of(Lessons.Select(lesson => lesson.Taught));

    /// <summary>As it was at a moment of a day.</summary>
    public Course Until(Instant end, LocalDate on) => new(
        [.. Lessons.Where(lesson => lesson.StartsAt < end).Select(lesson => lesson.Taught)], [.. Practice.Where(drive => drive.On <= on)]);
}

/// <summary>Gives the courses of many pupils: from memory where the database says that nothing has changed, else read anew. Who may see them is for the caller to have asked.</summary>
/// <remarks>Versions are read before what they stand for, so memory may hold more than its version says, but never less.</remarks>
internal sealed class CourseReader(SchoolDb db, LessonBook lessons, CourseMemory shared, SchoolInfo school)
{
    /// <summary>Every id is in the answer.</summary>
    public async Task<IReadOnlyDictionary<Guid, LearnedCourse>> OfPupilsAsync(IEnumerable<Guid> pupilIds, CancellationToken cancel)
    {
        // What a transaction sees may be undone, so nothing of it may be remembered beyond it.
        var memory = db.Database.CurrentTransaction is null ? shared : new CourseMemory();
        var zone = (await school.GetAsync(cancel)).Zone;
        var wanted = pupilIds.Distinct().ToArray();
        var versions = await db.Set<LearningVersion>().AsNoTracking().Where(v => wanted.Contains(v.PupilId)).ToDictionaryAsync(v => v.PupilId, v => v.Version, cancel);
        var courses = new Dictionary<Guid, LearnedCourse>(wanted.Length);
        foreach (var id in wanted)
        {
            if (memory.Find(id, versions.GetValueOrDefault(id), zone) is { } known)
            {
                courses.Add(id, known);
            }
        }

        var missing = wanted.Where(id => !courses.ContainsKey(id)).ToArray();
        foreach (var (id, course) in missing.Length == 0 ? [] : await ReadAsync(missing, zone, cancel))
        {
            memory.Keep(id, versions.GetValueOrDefault(id), zone, course);
            courses.Add(id, course);
        }

        return courses;
    }

    private async Task<IEnumerable<(Guid Id, LearnedCourse Course)>> ReadAsync(Guid[] ids, DateTimeZone zone, CancellationToken cancel)
    {
        var marks = await db.Set<LessonRecord>().AsNoTracking().Where(r => ids.Contains(r.PupilId)).Select(r => new { r.LessonId, r.Levels })
            .ToDictionaryAsync(r => r.LessonId, r => r.Levels, cancel);
        var practice = (await db.Set<PrivatePractice>().AsNoTracking().Where(p => ids.Contains(p.PupilId)).Select(p => new { p.PupilId, p.On, p.Minutes })
            .ToListAsync(cancel)).ToLookup(p => p.PupilId, p => new PracticeTime(p.On, p.Minutes));
        var taught = (await lessons.TimesTaughtAsync(ids, cancel)).ToLookup(lesson => lesson.PupilId, lesson => (lesson.StartsAt, new TaughtLesson(
            lesson.StartsAt.InZone(zone).Date, lesson.MinutesTaught,
            // The keys are a few dozen in all.
            [.. marks.GetValueOrDefault(lesson.Id, []).Select(given => new SkillMark(string.Intern(given.Skill), given.Level))])));
        return ids.Select(id => (id, new LearnedCourse([.. taught[id]], [.. practice[id]])));
    }
}
