using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Skills;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>What the record says of the way still to go; a pupil sees their own, staff everybody's.</summary>
[Needs(Permission.SeeLearning)]
internal sealed class DetailsModel(ReadinessReader reader, PupilBook pupils, Viewer viewer) : PageModel
{
    public string Name { get; private set; } = "";

    public bool Staff => viewer.IsStaff;

    public bool Office => viewer.IsOffice;

    public PupilReadiness Readiness { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await pupils.FindAsync(id, viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        Name = pupil.Name;
        Readiness = await reader.OfPupilAsync(id, cancel);
        return Page();
    }
}
