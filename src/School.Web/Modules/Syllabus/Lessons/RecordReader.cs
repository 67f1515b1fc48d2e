using Microsoft.EntityFrameworkCore;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>A level given in a lesson, with the one the pupil had before it.</summary>
internal sealed record LevelLine(string Skill, string Name, SkillLevel Level, SkillLevel? Before)
{
    /// <summary>“up from Helped”.</summary>
    public string Move => LevelWords.Move(Before, Level);
}

/// <summary>A lesson with its record. There are levels only where it was taught.</summary>
internal sealed record RecordSheet(
    LessonSheet Lesson, LessonRecord? Record, IReadOnlyList<LevelLine> Levels, SyllabusEdition Edition, LessonPlan Plan, PupilCard Pupil, SchoolFacts School)
{
    public bool IsTaught => Lesson.State is LessonState.Taught;

    public string When => School.When(Lesson.During);
}

/// <summary>Reads the record of a lesson.</summary>
internal sealed class RecordReader(SchoolDb db, LessonRecording lessons, LessonPlanner planner, SyllabusBook syllabus, PupilBook pupils, SchoolInfo school)
{
    /// <summary>To be read: staff read what every pupil of the school learned, so that a new instructor goes on without loss.</summary>
    public async Task<RecordSheet?> FindToReadAsync(Guid lessonId, Viewer viewer, CancellationToken cancel) =>
        await ReadAsync(viewer.KeepsLearning ? await lessons.OfSchoolAsync(lessonId, cancel) : await lessons.FindAsync(lessonId, viewer, cancel), cancel);

    /// <summary>To be written: only a lesson of the viewer's own diary.</summary>
    public async Task<RecordSheet?> FindAsync(Guid lessonId, Viewer viewer, CancellationToken cancel) =>
        await ReadAsync(await lessons.FindAsync(lessonId, viewer, cancel), cancel);

    /// <summary>What is suggested for the lesson after this one.</summary>
    public Task<LessonPlan> AfterAsync(LessonSheet lesson, CancellationToken cancel) => planner.BeforeAsync(lesson.PupilId, lesson.EndsAt, null, cancel);

    private async Task<RecordSheet?> ReadAsync(LessonSheet? lesson, CancellationToken cancel)
    {
        if (lesson is null)
        {
            return null;
        }

        var record = await db.Set<LessonRecord>().AsNoTracking().SingleOrDefaultAsync(r => r.LessonId == lesson.Id, cancel);
        var plan = await planner.BeforeAsync(lesson.PupilId, lesson.StartsAt, null, cancel);
        var edition = record is null ? plan.Learning.Edition : (await syllabus.FindAsync(record.Edition, cancel))!;
        var given = lesson.State is LessonState.Taught && record is not null ? record.Levels : [];
        return new(
            lesson, record,
            given.ConvertAll(level => new LevelLine(level.Skill, edition.Find(level.Skill)!.Name, level.Level, plan.LevelOf(level.Skill))),
            edition, plan, (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId], await school.GetAsync(cancel));
    }
}
