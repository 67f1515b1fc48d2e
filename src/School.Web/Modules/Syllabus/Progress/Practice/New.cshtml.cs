using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Progress.Practice;

/// <summary>Logs a drive between lessons.</summary>
[Needs(Permission.LogPractice)]
[OfPupil("pupilId", Sight.Everything)]
internal sealed class NewModel(PupilBook pupils, SyllabusBook syllabus, PracticeBook book, AddPractice add, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    /// <summary>The drive's id, given with the form.</summary>
    [BindProperty]
    public Guid? DriveId { get; set; }

    [BindProperty]
    public DriveForm Input { get; set; } = new();

    public PupilCard Pupil { get; private set; } = null!;

    public SyllabusEdition Edition { get; private set; } = null!;

    public bool Own => viewer.PupilId == Pupil.Id;

    public async Task<IActionResult> OnGetAsync(Guid pupilId, CancellationToken cancel)
    {
        if (!await LoadAsync(pupilId, cancel))
        {
            return NotFound();
        }

        // Most learners drive with the same person each time.
        var drives = await book.OfPupilAsync(pupilId, cancel);
        DriveId = RowId.New();
        Input = new() { On = (await school.GetAsync(cancel)).Today(clock), Supervisor = drives is [.., var last] ? last.Supervisor : null };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid pupilId, CancellationToken cancel)
    {
        if (!await LoadAsync(pupilId, cancel))
        {
            return NotFound();
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var added = await add.RunAsync(viewer, pupilId, new(Input.Sent, DriveId), cancel);
        if (added.Ok)
        {
            TempData["Done"] = $"Logged: {ScreenWords.Length(added.Value.Minutes)} on {ScreenWords.Day(added.Value.On)}.";
            return Redirect($"/syllabus/progress/{pupilId}/practice");
        }

        this.AddRefusal(added.Refusal, added.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    private async Task<bool> LoadAsync(Guid pupilId, CancellationToken cancel)
    {
        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return false;
        }

        (Pupil, Edition) = (pupil, await syllabus.CurrentAsync(cancel));
        return true;
    }
}
