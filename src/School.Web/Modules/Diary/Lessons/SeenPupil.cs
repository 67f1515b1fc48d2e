using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>The pupil of a lesson as the viewer sees them.</summary>
internal static class SeenPupil
{
    /// <summary>Asks nothing where the lesson itself makes the pupil the viewer's own.</summary>
    public static async Task<PupilCard> OfAsync(this OwnPupils own, Viewer viewer, Lesson lesson, PupilCard card, CancellationToken cancel) =>
        lesson.InstructorId == viewer.InstructorId && lesson.State != Contracts.LessonState.Cancelled && await own.IsNearAsync(lesson.During, cancel)
            ? card
            : (await own.VeilAsync(viewer, new Dictionary<Guid, PupilCard> { [card.Id] = card }, cancel))[card.Id];
}
