using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>All that was recorded about a pupil's learning, to print or to take along.</summary>
[Needs(Permission.SeeLearning)]
internal sealed class RecordModel(ProgressReader reader) : PageModel
{
    public PupilProgress Progress { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(Guid pupilId, CancellationToken cancel)
    {
        if (await reader.FindAsync(pupilId, cancel) is not { } progress)
        {
            return NotFound();
        }

        Progress = progress;
        return Page();
    }
}
