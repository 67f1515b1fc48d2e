using NodaTime;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Addresses of the diary's pages that others point to.</summary>
internal static class LessonLinks
{
    public static string Of(Guid lessonId) => $"/diary/lessons/{lessonId}";

    /// <summary>The day of an instructor that a moment lies on, as the viewer opens it.</summary>
    public static string Day(Guid instructorId, Instant moment, DateTimeZone zone, Viewer viewer)
    {
        var date = $"/diary/day?date={moment.InZone(zone).Date:uuuu-MM-dd}";
        return viewer.InstructorId == instructorId ? date : $"{date}&instructorId={instructorId}";
    }
}
