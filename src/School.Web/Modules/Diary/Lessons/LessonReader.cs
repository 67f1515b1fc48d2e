using NodaTime;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson to record.</summary>
internal sealed record LessonToRecord(LessonView Lesson, SchoolFacts School)
{
    /// <summary>"Tuesday 3 March, 10:00 to 11:00".</summary>
    public string When => School.When(Lesson.During);

    /// <summary>The day that the lesson stands on.</summary>
    public string DayAddress(Viewer viewer) => LessonLinks.Day(Lesson.InstructorId, Lesson.StartsAt, School.Zone, viewer);
}

internal sealed class LessonReader(DiaryQueries diary, SchoolInfo school, Viewer viewer)
{
    /// <summary>The lesson if the viewer may see it.</summary>
    public async Task<LessonToRecord?> FindAsync(Guid id, CancellationToken cancel) =>
        await diary.FindAsync(id, viewer, cancel) is { } lesson ? new(lesson, await school.GetAsync(cancel)) : null;
}
