using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

/// <summary>A taught lesson with what it left behind; no record where only minutes and a sentence were written.</summary>
internal sealed record LearnedLesson(TaughtCard Lesson, LocalDate On, LessonRecord? Record)
{
    public TaughtLesson Taught => new(On, Lesson.MinutesTaught, Record?.Marks() ?? []);
}

/// <summary>All that a pupil learned at the school, by whomever, earliest first.</summary>
internal sealed record PupilLearning(Guid PupilId, SyllabusEdition Edition, IReadOnlyList<LearnedLesson> Lessons)
{
    public int MinutesTaught => Lessons.Sum(lesson => lesson.Lesson.MinutesTaught);

    public IReadOnlyDictionary<string, SkillStanding> Standings { get; } = SkillStanding.Of(Lessons.Select(lesson => lesson.Taught));
}

/// <summary>Puts together what pupils learned. Who may see it is for the caller to have asked.</summary>
internal sealed class LearningReader(SchoolDb db, LessonBook lessons, SyllabusBook syllabus, SchoolInfo school)
{
    public async Task<PupilLearning> OfPupilAsync(Guid pupilId, CancellationToken cancel) =>
        (await OfPupilsAsync([pupilId], cancel))[pupilId];

    /// <summary>The same for many; every id is in the answer.</summary>
    public async Task<IReadOnlyDictionary<Guid, PupilLearning>> OfPupilsAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        var edition = await syllabus.CurrentAsync(cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        var wanted = pupilIds.Distinct().ToArray();
        var records = await db.Set<LessonRecord>().AsNoTracking().Where(r => wanted.Contains(r.PupilId)).ToDictionaryAsync(r => r.LessonId, cancel);
        var taught = (await lessons.TaughtAsync(wanted, cancel)).ToLookup(lesson => lesson.PupilId);
        return wanted.ToDictionary(id => id, id => new PupilLearning(
            id, edition, [.. taught[id].Select(lesson => new LearnedLesson(lesson, lesson.StartsAt.InZone(zone).Date, records.GetValueOrDefault(lesson.Id)))]));
    }
}
