namespace School.Web.Modules.Diary.Contracts;

/// <summary>Kinds of message about a lesson that others write and the diary withdraws when the lesson changes.</summary>
internal static class LessonMessages
{
    /// <summary>What the pupil reads the evening before.</summary>
    public const string Brief = "lesson_brief";
}
