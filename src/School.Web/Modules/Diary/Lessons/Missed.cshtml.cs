using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>The pupil was not there: said once more with its consequence before it is written down.</summary>
[Needs(Permission.RecordLessons)]
internal sealed class MissedModel(LessonReader reader, MissLesson miss, TellCharge tell, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public MissInput Input { get; set; } = new();

    public LessonToRecord Sheet { get; private set; } = null!;

    /// <summary>What it comes to, unless the charge is let pass.</summary>
    public string? Charge { get; private set; }

    public bool TooEarly => Sheet.Lesson.StartsAt > clock.GetCurrentInstant();

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, cancel) is not { } sheet)
        {
            return NotFound();
        }

        Sheet = sheet;
        Input.Version = sheet.Lesson.Version;
        await TellAsync(id, cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, cancel) is not { } sheet)
        {
            return NotFound();
        }

        Sheet = sheet;
        if (ModelState.IsValid)
        {
            var outcome = await miss.RunAsync(viewer, id, new(Input.Note, Input.Waive, Input.Waive ? ChargeCode.Waived : ChargeCode.Missed), Input.Version, cancel);
            if (outcome.Ok || (outcome.Refusal.Kind is RefusalKind.Stale && sheet.Lesson.State is LessonState.Missed))
            {
                TempData["Done"] = $"Recorded: {sheet.Lesson.PupilName} was not there.";
                return LocalRedirect(sheet.DayAddress(viewer));
            }

            ModelState.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
            if (outcome.Refusal.Kind is RefusalKind.Stale)
            {
                ModelState.Remove("Input.Version");
                Input.Version = sheet.Lesson.Version;
            }
        }

        await TellAsync(id, cancel);
        return Page();
    }

    private async Task TellAsync(Guid id, CancellationToken cancel) =>
        Charge = (await tell.RunAsync(viewer, id, new(ChargeAct.Missed), cancel)).Value?.Charge.Beforehand(viewer);

    internal sealed class MissInput
    {
        public string? Note { get; set; }

        public bool Waive { get; set; }

        public int Version { get; set; }
    }
}
