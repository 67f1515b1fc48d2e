using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Says first whether cancelling is charged and by which rule; the button says it again.</summary>
[Needs(Permission.BookLessons)]
internal sealed class CancelModel(CancelLesson cancelLesson, TellCharge tell, PupilLessons lessons, SchoolInfo school, Viewer viewer) : PageModel
{
    /// <summary>Why; staff choose, a pupil has one.</summary>
    [BindProperty(SupportsGet = true)]
    public CancelReason? Reason { get; set; }

    /// <summary>What the button that was pressed said that it comes to.</summary>
    [BindProperty]
    public string? Charge { get; set; }

    public LessonCard Card { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public ChargeTold? Told { get; private set; }

    public bool Staff => viewer.IsStaff;

    public IReadOnlyList<SelectListItem> Reasons { get; } =
        [.. Enum.GetValues<CancelReason>().Select(reason => new SelectListItem(reason.Label(), reason.ToString()))];

    public string Sentence => Told!.Charge.Beforehand(viewer);

    public string Why => Reason!.Value.Label();

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        if (Card.Lesson.State == LessonState.Cancelled)
        {
            return Redirect(LessonLinks.Of(id));
        }

        if (Reason is not { } reason)
        {
            if (Request.Query.ContainsKey(nameof(Reason)) && ModelState.IsValid)
            {
                ModelState.AddModelError(nameof(Reason), "Choose a reason");
            }

            return Page();
        }

        await AskAsync(id, reason, cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        if (Card.Lesson.State == LessonState.Cancelled)
        {
            return Cancelled(id, Card.Lesson.Chargeable == true);
        }

        if (Reason is not { } reason)
        {
            ModelState.AddModelError(nameof(Reason), "Choose a reason");
            return Page();
        }

        if (ChargeRules.Read(Charge) is not { } charge)
        {
            if (await AskAsync(id, reason, cancel))
            {
                this.AddRefusal(Told!.Charge.Changed(viewer));
            }

            return Page();
        }

        // Late, and yet nothing may be asked: what was told before the press is said after it.
        var asks = charge is not ChargeCode.Late || (await tell.RunAsync(viewer, id, new(ChargeAct.Cancel, reason), cancel)).Value?.Costs != false;
        var outcome = await cancelLesson.RunAsync(viewer, id, new(reason, charge), Card.Lesson.Version, cancel);
        if (outcome.Ok)
        {
            return Cancelled(id, outcome.Value.Chargeable == true && asks);
        }

        if (await lessons.FindAsync(id, viewer, cancel) is { Lesson: { State: LessonState.Cancelled } lesson })
        {
            return Cancelled(id, lesson.Chargeable == true);
        }

        this.AddRefusal(outcome.Refusal);
        Told = (await tell.RunAsync(viewer, id, new(ChargeAct.Cancel, reason), cancel)).Value;
        return Page();
    }

    private RedirectResult Cancelled(Guid id, bool charged)
    {
        TempData["Done"] = $"Lesson cancelled, {(charged ? "charge applies" : "free of charge")}. {Words.OnTheWay("A confirmation is", Card.Pupil)}";
        return Redirect(LessonLinks.Of(id));
    }

    private async Task<bool> ReadAsync(Guid id, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, viewer, cancel) is not { } card)
        {
            return false;
        }

        (Card, School) = (card, await school.GetAsync(cancel));
        if (!viewer.IsStaff)
        {
            Reason = CancelReason.Pupil;
        }

        return true;
    }

    /// <summary>Asks what cancelling now would mean; false when it cannot be cancelled, and the page says why.</summary>
    private async Task<bool> AskAsync(Guid id, CancelReason reason, CancellationToken cancel)
    {
        var told = await tell.RunAsync(viewer, id, new(ChargeAct.Cancel, reason), cancel);
        if (told.Ok)
        {
            Told = told.Value;
        }
        else
        {
            this.AddRefusal(told.Refusal);
        }

        return told.Ok;
    }
}
