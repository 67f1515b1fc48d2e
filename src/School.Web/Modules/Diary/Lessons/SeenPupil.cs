using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>The pupil of a lesson as the viewer sees them.</summary>
internal static class SeenPupil
{
    /// <summary>Asks nothing where the lesson itself makes the pupil the viewer's own.</summary>
    public static async Task<PupilCard> OfAsync(this OwnPupils own, Viewer viewer, Lesson lesson, PupilCard card, CancellationToken cancel) =>
        lesson.InstructorId == viewer.InstructorId && lesson.State != LessonState.Cancelled && await own.IsNearAsync(lesson.During, cancel)
            ? card
            : await own.VeilAsync(viewer, card, cancel);

    /// <summary>Of lessons as the API tells them: what was taught stands with the record, and is not told of whom the viewer sees by name alone.</summary>
    public static async Task<IReadOnlyList<LessonJson>> WithoutRecordsAsync(this OwnPupils own, Viewer viewer, IReadOnlyList<LessonJson> lessons, CancellationToken cancel)
    {
        var others = lessons.Where(lesson => (lesson.Note is not null || lesson.MinutesTaught is not null) && lesson.InstructorId != viewer.InstructorId).Select(lesson => lesson.PupilId).Distinct().ToList();
        if (!viewer.KeepsDiary || others.Count == 0)
        {
            return lessons;
        }

        var sees = await own.OfAsync(viewer, others, cancel);
        return [.. lessons.Select(lesson => others.Contains(lesson.PupilId) && sees[lesson.PupilId] == Sight.Name && lesson.InstructorId != viewer.InstructorId
            ? lesson with { MinutesTaught = null, Note = null } : lesson)];
    }
}
