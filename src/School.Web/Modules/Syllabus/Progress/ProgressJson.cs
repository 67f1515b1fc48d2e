using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Practice;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>A level given in a lesson, with the minutes taught until then and the name that the skill had.</summary>
internal sealed record LevelMoveJson(Guid LessonId, LocalDate On, SkillLevel Level, int MinutesTaught, string Instructor, string NameThen)
{
    public static LevelMoveJson Of(LevelMove move) => new(move.LessonId, move.On, move.Level, move.MinutesTaught, move.Instructor, move.NameThen);
}

/// <summary>A skill, its level (null where it is not started), and how it came there, earliest first.</summary>
internal sealed record SkillProgressJson(
    string Key, string Name, SkillLevel? Level, LocalDate? LastOn, bool Stale, IReadOnlyList<LevelMoveJson> Moves, IReadOnlyList<string> Practise)
{
    public static SkillProgressJson Of(SkillLine line) =>
        new(line.Skill.Key, line.Skill.Name, line.Level, line.LastOn, line.Stale, [.. line.Moves.Select(LevelMoveJson.Of)], line.Skill.Practise);
}

internal sealed record GroupProgressJson(string Name, IReadOnlyList<SkillProgressJson> Skills);

internal sealed record NamedLevelJson(string Key, string Name, SkillLevel Level);

/// <summary>A taught lesson: the sentence for the pupil, the aim agreed for next time, and the levels under the names of their edition.</summary>
internal sealed record LessonProgressJson(
    Guid Id, LocalDate On, int MinutesTaught, string Instructor, string? RecordedBy, int? Edition, IReadOnlyList<NamedLevelJson> Levels,
    string Note, string Aim, RouteKind? Route, decimal? Miles, string Reflection);

/// <summary>How far a pupil has come. Minutes are of lessons taught; private practice stands beside them, unweighted. Retired are skills that older editions had.</summary>
internal sealed record ProgressJson(
    Guid PupilId, string Name, LocalDate On, int Edition, int MinutesTaught, int PracticeMinutes, IReadOnlyList<GroupProgressJson> Groups,
    IReadOnlyList<SkillProgressJson> Retired, IReadOnlyList<LessonProgressJson> Lessons, IReadOnlyList<PracticeJson> Practice)
{
    public static ProgressJson Of(PupilProgress progress) => new(
        progress.Pupil.Id,
        progress.Pupil.Name,
        progress.Today,
        progress.Edition.Number,
        progress.MinutesTaught,
        progress.PracticeMinutes,
        [.. progress.Lines.GroupBy(line => line.Group).Select(group => new GroupProgressJson(group.Key!, [.. group.Select(SkillProgressJson.Of)]))],
        [.. progress.Retired.Select(SkillProgressJson.Of)],
        [.. progress.Lessons.Select(Of)],
        [.. progress.Practice.Select(PracticeJson.Of)]);

    private static LessonProgressJson Of(RecordedLesson lesson) => new(
        lesson.Id, lesson.On, lesson.MinutesTaught, lesson.Instructor, lesson.RecordedBy, lesson.Edition,
        [.. lesson.Levels.Select(given => new NamedLevelJson(given.Key, given.Name, given.Level))], lesson.Note, lesson.Aim, lesson.Route, lesson.Miles, lesson.Reflection);
}
