using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Whose lessons are whose: a pupil's own, an instructor's own diary, everything for who keeps the diary in the office; with several hats, what any of them sees.</summary>
internal static class LessonAccess
{
    public static IQueryable<Lesson> VisibleTo(this IQueryable<Lesson> lessons, Viewer viewer) => viewer switch
    {
        { KeepsDiary: true } => lessons,
        { InstructorId: { } teaches, PupilId: { } learns } => lessons.Where(lesson => lesson.InstructorId == teaches || lesson.PupilId == learns),
        { InstructorId: { } teaches } => lessons.Where(lesson => lesson.InstructorId == teaches),
        { PupilId: { } learns } => lessons.Where(lesson => lesson.PupilId == learns),
        _ => lessons.Where(lesson => false),
    };

    /// <summary>What the viewer may read of, and no more: the same, and the lessons of those who let them see these (<c>BesideBook.WhoLetSee</c>).</summary>
    public static IQueryable<Lesson> ReadableBy(this IQueryable<Lesson> lessons, Viewer viewer, IQueryable<Guid> whoLetSee) => viewer switch
    {
        { ContactId: null } or { KeepsDiary: true } => lessons.VisibleTo(viewer),
        { InstructorId: null, PupilId: null } => lessons.Where(lesson => whoLetSee.Contains(lesson.PupilId)),
        _ => lessons.Where(lesson => lesson.InstructorId == viewer.InstructorId || lesson.PupilId == viewer.PupilId || whoLetSee.Contains(lesson.PupilId)),
    };

    /// <summary>Whether the viewer sees all of a lesson that they may read, and not only when and where it is.</summary>
    public static bool SeesAllOf(this Viewer viewer, Lesson lesson) => viewer.KeepsDiary || lesson.InstructorId == viewer.InstructorId || lesson.PupilId == viewer.PupilId;

    /// <summary>Lessons of the diary that the viewer keeps: an instructor's own, everything for the office. A pupil keeps none.</summary>
    public static IQueryable<Lesson> KeptBy(this IQueryable<Lesson> lessons, Viewer viewer) => lessons.VisibleTo(viewer with { PupilId = null });

    /// <summary>
    /// Whether the viewer may write into this instructor's diary. Pupils may book with anybody; who teaches as well does so only for
    /// themselves, as <see cref="Viewer.Towards"/> says.
    /// </summary>
    public static bool MayBookWith(this Viewer viewer, Guid instructorId) =>
        viewer.KeepsDiary || viewer.InstructorId == instructorId || (viewer.InstructorId is null && viewer.PupilId is not null);

    /// <summary>Whether the instructor's hours, time off and day are the viewer's to see and change.</summary>
    public static bool KeepsDiaryOf(this Viewer viewer, Guid instructorId) =>
        viewer.KeepsDiary || viewer.InstructorId == instructorId;
}
