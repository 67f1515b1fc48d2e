using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Progress;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Beside;

/// <summary>How far a pupil has come who lets the viewer see that; to read, and nothing to press.</summary>
[Needs(Permission.SeeBeside)]
internal sealed class DetailsModel(BesideBook beside, ProgressReader reader, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    public PupilBeside For { get; private set; } = null!;

    public PupilProgress Progress { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await beside.FindAsync(viewer, Id, cancel) is not { Progress: true } allowed || await reader.FindAsync(allowed, cancel) is not { } progress)
        {
            return NotFound();
        }

        (For, Progress) = (allowed, progress);
        return Page();
    }
}
