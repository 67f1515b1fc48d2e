using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

[Needs(Permission.ChangeGuarded), ShowsWhatStands]
internal sealed class GuardedModel(SchoolDb db, ReadGuarded read, ChangeGuarded change, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public string? DriverNumber { get; set; }

    [BindProperty]
    public string? HealthNotes { get; set; }

    [BindProperty]
    public string? TheoryCertificate { get; set; }

    public string Name { get; private set; } = "";

    public bool Opened { get; private set; }

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostShowAsync(CancellationToken cancel)
    {
        var guarded = await read.RunAsync(viewer, Id, cancel);
        if (!guarded.Ok)
        {
            this.AddRefusal(guarded.Refusal);
            return await ShowAsync(cancel);
        }

        ModelState.Clear();
        (Version, DriverNumber, HealthNotes, TheoryCertificate, Opened) =
            (guarded.Value.Pupil.Version, guarded.Value.DriverNumber, guarded.Value.HealthNotes, guarded.Value.TheoryCertificate, true);
        return await ShowAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var changed = await change.RunAsync(viewer, Id, new(DriverNumber, HealthNotes, TheoryCertificate), Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = "Driver number and health notes are kept.";
                return LocalRedirect($"/pupils/{Id}");
            }

            this.AddRefusal(changed.Refusal);
        }

        // What was typed is shown again; nothing that rests encrypted is.
        Opened = true;
        return await ShowAsync(cancel);
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return NotFound();
        }

        Name = pupil.Name;
        return Page();
    }
}
