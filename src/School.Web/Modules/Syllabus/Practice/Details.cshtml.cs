using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Core.Syllabus;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Skills;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>Changes or removes a logged drive.</summary>
[Needs(Permission.LogPractice)]
internal sealed class DetailsModel(SchoolDb db, OwnPupils own, SyllabusBook syllabus, ChangePractice change, RemovePractice remove, Viewer viewer) : PageModel
{
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public DriveForm Input { get; set; } = new();

    public PrivatePractice Drive { get; private set; } = null!;

    public SyllabusEdition Edition { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        (Version, Input) = (Drive.Version, DriveForm.Of(Drive));
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        return ModelState.IsValid ? Done(await change.RunAsync(viewer, null, id, Input.Sent, Version, cancel), "Changed") : Page();
    }

    public async Task<IActionResult> OnPostRemoveAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        ModelState.Clear();
        Input = DriveForm.Of(Drive);
        return Done(await remove.RunAsync(viewer, null, id, Version, cancel), "Removed");
    }

    private IActionResult Done(Outcome<PrivatePractice> outcome, string word)
    {
        if (outcome.Ok)
        {
            TempData["Done"] = $"{word}: {ScreenWords.Length(outcome.Value.Minutes)} on {ScreenWords.Day(outcome.Value.On)}.";
            return Redirect($"/syllabus/progress/{outcome.Value.PupilId}/practice");
        }

        this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await db.Set<PrivatePractice>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel) is not { } drive
            || await own.RefuseAsync(viewer, drive.PupilId, cancel) is not null)
        {
            return false;
        }

        (Drive, Edition) = (drive, await syllabus.CurrentAsync(cancel));
        return true;
    }
}
