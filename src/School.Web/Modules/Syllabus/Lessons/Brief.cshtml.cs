using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What to know before a lesson: the instructor's brief on one screen of a phone, or the pupil's plain version.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("id", Sight.ByReason, Given = true)]
internal sealed class BriefModel(BriefReader reader, IPupilDiary diary, Viewer viewer, IClock clock) : PageModel
{
    public LessonBrief Brief { get; private set; } = null!;

    public bool Staff => Viewer.ArrangesLessons;

    private Viewer Viewer => viewer.Towards(Brief.Lesson.PupilId);

    public bool IsOff => Brief.Lesson.State is LessonState.Cancelled;

    /// <summary>Recording waits until the lesson is over.</summary>
    public bool MayRecord => Viewer.May(Permission.RecordLessons) && Brief.Lesson.State is LessonState.Booked && Brief.Lesson.EndsAt <= clock.GetCurrentInstant();

    /// <summary>The guarded read leaves a line in the audit; who may not go there is not told of it.</summary>
    public bool TellsOfHealthNotes => Brief.Cautions.HasHealthNotes && Viewer.May(Permission.ChangeGuarded);

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, viewer, cancel) is not { } brief)
        {
            return NotFound();
        }

        Brief = brief;
        ViewData["Navigate"] = await diary.NavigateAsync(brief.Lesson.PickUp, cancel);
        return Page();
    }
}
