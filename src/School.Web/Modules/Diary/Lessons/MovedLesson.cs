using NodaTime;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson that was moved, with what it was before.</summary>
internal sealed record MovedLesson(Lesson Lesson, Interval From, Guid FormerInstructorId)
{
    /// <summary>Another car alone is told to nobody.</summary>
    public bool IsTold => From != Lesson.During || FormerInstructorId != Lesson.InstructorId;
}
