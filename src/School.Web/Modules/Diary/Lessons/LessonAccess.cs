using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Whose lessons are whose: a pupil's own, an instructor's own diary, everything for the office.</summary>
internal static class LessonAccess
{
    public static IQueryable<Lesson> VisibleTo(this IQueryable<Lesson> lessons, Viewer viewer) => viewer.Role switch
    {
        Role.Office => lessons,
        Role.Instructor => lessons.Where(lesson => lesson.InstructorId == viewer.InstructorId),
        Role.Pupil => lessons.Where(lesson => lesson.PupilId == viewer.PupilId),
    };

    /// <summary>Whether the viewer may write into this instructor's diary. Pupils may book with anybody.</summary>
    public static bool MayBookWith(this Viewer viewer, Guid instructorId) =>
        viewer.Role != Role.Instructor || viewer.InstructorId == instructorId;

    /// <summary>Whether the instructor's hours, time off and day are the viewer's to see and change.</summary>
    public static bool KeepsDiaryOf(this Viewer viewer, Guid instructorId) =>
        viewer.IsOffice || viewer.InstructorId == instructorId;
}
