using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Weekly;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons.Following;

/// <summary>Cancels a weekly lesson and all after it; says first which of them are charged.</summary>
[Needs(Permission.BookLessons)]
internal sealed class CancelModel(CancelFollowing cancelFollowing, ChangeWeekly change, PupilLessons lessons, SchoolInfo school, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public CancelReason? Reason { get; set; }

    [BindProperty]
    public int? Charged { get; set; }

    public LessonCard Card { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Viewer Viewer => viewer;

    public IReadOnlyList<ChargeTold>? Lines { get; private set; }

    public IReadOnlyList<SelectListItem> Reasons { get; } =
        [.. Enum.GetValues<CancelReason>().Select(reason => new SelectListItem(reason.Label(), reason.ToString()))];

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await ReadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (Reason is not { } reason)
        {
            if (Request.Query.ContainsKey(nameof(Reason)) && ModelState.IsValid)
            {
                ModelState.AddModelError(nameof(Reason), "Choose a reason");
            }

            return Page();
        }

        await LookAsync(id, reason, cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (await ReadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (Reason is not { } reason || Charged is not { } charged)
        {
            return Redirect($"{LessonLinks.Of(id)}/following/cancel");
        }

        var cancelled = await change.RunAsync(viewer, new(LessonId: id, Cancel: new(reason, charged)), cancel);
        if (cancelled.Ok)
        {
            TempData["Done"] = $"{Words.Count(cancelled.Value.Lessons.Count, "lesson")} cancelled. {Words.OnTheWay("A confirmation is", Card.Pupil)}";
            return Redirect(LessonLinks.Of(id));
        }

        this.AddRefusal(cancelled.Refusal);
        await LookAsync(id, reason, cancel);
        return Page();
    }

    private async Task LookAsync(Guid id, CancelReason reason, CancellationToken cancel)
    {
        var found = await cancelFollowing.PreviewAsync(viewer, id, reason, cancel);
        if (found.Ok)
        {
            Lines = found.Value;
        }
        else
        {
            this.AddRefusal(found.Refusal);
        }
    }

    private async Task<IActionResult?> ReadAsync(Guid id, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        (Card, School) = (card, await school.GetAsync(cancel));
        Reason = viewer.IsStaff ? Reason : CancelReason.Pupil;
        if (card.Lesson.State is LessonState.Cancelled)
        {
            // Also where the button was pressed twice: the other press has cancelled it.
            return Redirect(LessonLinks.Of(id));
        }

        return card.Lesson.SeriesId is null ? Redirect($"{LessonLinks.Of(id)}/cancel") : null;
    }
}
