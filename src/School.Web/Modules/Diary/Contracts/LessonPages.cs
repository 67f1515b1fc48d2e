namespace School.Web.Modules.Diary.Contracts;

/// <summary>Addresses of what the syllabus says about one lesson.</summary>
internal static class LessonPages
{
    /// <summary>What was learned, for the pupil and for staff.</summary>
    public static string Learned(Guid lessonId) => $"/syllabus/lessons/{lessonId}";

    /// <summary>Where an instructor records it.</summary>
    public static string Record(Guid lessonId) => $"{Learned(lessonId)}/record";

    /// <summary>What comes next with the pupil, once it is recorded.</summary>
    public static string Next(Guid lessonId) => $"{Learned(lessonId)}/next";

    /// <summary>Where an instructor marks a mock test that is part of it.</summary>
    public static string Mock(Guid pupilId, Guid lessonId) => $"/syllabus/mocks/new?pupil={pupilId}&lesson={lessonId}";

    /// <summary>What to know before it.</summary>
    public static string Brief(Guid lessonId) => $"{Learned(lessonId)}/brief";
}
