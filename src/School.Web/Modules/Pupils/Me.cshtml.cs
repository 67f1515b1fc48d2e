using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

/// <summary>A pupil's own details; staff have none.</summary>
[Needs(Permission.OwnDetails), ShowsWhatStands]
internal sealed class MeModel(ReadGuarded read, ChangeContact change, PapersReader papers, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public ContactInput Input { get; set; } = new();

    public Pupil Pupil { get; private set; } = null!;

    public IReadOnlyList<PaperItem> Papers { get; private set; } = [];

    public string? DriverNumber { get; private set; }

    public string? HealthNotes { get; private set; }

    public string? TheoryCertificate { get; private set; }

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(fill: true, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (viewer.PupilId is { } own && ModelState.IsValid)
        {
            var changed = await change.RunAsync(viewer, own, Input, Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = "Your details are kept.";
                return RedirectToPage();
            }

            this.AddRefusal(changed.Refusal, nameof(Input));
        }

        return await ShowAsync(fill: false, cancel);
    }

    private async Task<IActionResult> ShowAsync(bool fill, CancellationToken cancel)
    {
        if (viewer.PupilId is not { } own || await read.RunAsync(viewer, own, cancel) is not { Ok: true, Value: { } found })
        {
            return NotFound();
        }

        (Pupil, DriverNumber, HealthNotes, TheoryCertificate) = (found.Pupil, found.DriverNumber, found.HealthNotes, found.TheoryCertificate);
        Papers = await papers.ListAsync(Pupil, (await school.GetAsync(cancel)).Today(clock), cancel);
        if (fill)
        {
            (Input, Version) = (ContactInput.Of(Pupil), Pupil.Version);
        }

        return Page();
    }
}
