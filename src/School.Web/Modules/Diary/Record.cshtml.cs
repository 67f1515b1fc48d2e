using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Offline;

namespace School.Web.Modules.Diary;

/// <summary>What was taught, once parked; later, what was written is put right here too.</summary>
[Needs(Permission.RecordLessons), KeptOffline]
internal sealed class RecordModel(LessonReader reader, RecordLesson record, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public RecordInput Input { get; set; } = new();

    public LessonToRecord Sheet { get; private set; } = null!;

    /// <summary>Why there is nothing to record; null when there is.</summary>
    public string? NotNow { get; private set; }

    /// <summary>What the school has on record, for whoever wrote a record of their own without knowing it.</summary>
    public string Stands => Sheet.Lesson.State switch
    {
        LessonState.Taught => $"Recorded as taught, {Sheet.Lesson.MinutesTaught} minutes.",
        LessonState.Missed => "Recorded as missed.",
        _ => $"Not recorded yet, but the lesson was changed. It is now {Sheet.When}.",
    };

    public bool Again => Sheet.Lesson.State is LessonState.Taught or LessonState.Missed;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        var lesson = Sheet.Lesson;
        Input = new() { MinutesTaught = lesson.MinutesTaught ?? lesson.Minutes, Note = lesson.Note, Version = lesson.Version };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = await record.RunAsync(id, new(Input.MinutesTaught, Input.Note), Input.Version, viewer, cancel);
        if (outcome.Ok || IsTheSameAgain(outcome.Refusal))
        {
            TempData["Done"] = $"Recorded: {Sheet.Lesson.PupilName}, {Input.MinutesTaught} minutes taught.";
            return LocalRedirect(Sheet.DayAddress(viewer));
        }

        ModelState.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        if (outcome.Refusal.Kind is RefusalKind.Stale)
        {
            // The page now shows what stands; sending again is knowing.
            ModelState.Remove("Input.Version");
            Input.Version = Sheet.Lesson.Version;
        }

        return Page();
    }

    // A press too many on a slow line is no quarrel with somebody else.
    private bool IsTheSameAgain(Refusal refusal) =>
        refusal.Kind is RefusalKind.Stale && Sheet.Lesson.State is LessonState.Taught
        && Sheet.Lesson.MinutesTaught == Input.MinutesTaught && Sheet.Lesson.Note == (Input.Note ?? "").Trim();

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, cancel) is not { } sheet)
        {
            return false;
        }

        Sheet = sheet;
        NotNow = sheet.Lesson.State is LessonState.Cancelled ? "This lesson was cancelled, so there is nothing to record."
            : sheet.Lesson.StartsAt > clock.GetCurrentInstant() && !Request.IsForLater() ? "This lesson has not begun yet. Come back once you are parked at its end."
            : null;
        return true;
    }

    internal sealed class RecordInput
    {
        public int MinutesTaught { get; set; }

        public string? Note { get; set; }

        public int Version { get; set; }
    }
}
