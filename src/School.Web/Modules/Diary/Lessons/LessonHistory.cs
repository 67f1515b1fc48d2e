using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Adds a line to a lesson's history in the transaction of the change.</summary>
internal sealed class LessonHistory(SchoolDb db, IClock clock)
{
    public void Note(Lesson lesson, ChangeKind kind, string words, Viewer viewer) => db.Add(new LessonChange
    {
        LessonId = lesson.Id,
        Kind = kind,
        At = clock.GetCurrentInstant(),
        ByPersonId = viewer.PersonId,
        ByName = viewer.Name,
        Words = words,
        StartsAt = lesson.StartsAt,
        InstructorId = lesson.InstructorId,
    });
}
