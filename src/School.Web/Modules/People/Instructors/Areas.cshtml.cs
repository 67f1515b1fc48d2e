using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Instructors;

/// <summary>Which areas an instructor serves; the office says so of anybody, an instructor of themselves.</summary>
[Needs(Permission.ChangeHours)]
internal sealed class AreasModel(SchoolDb db, AreaBook areas, ServeAreas serve, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public int Version { get; set; }

    /// <summary>Those that are ticked.</summary>
    [BindProperty]
    public List<Guid> Areas { get; set; } = [];

    public IReadOnlyList<AreaCard> All { get; private set; } = [];

    public string Name { get; private set; } = "";

    public bool Own => viewer.InstructorId == Id;

    public string Back => Own ? "/diary/hours" : $"/people/instructors/{Id}";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await RowAsync(cancel) is not { } row)
        {
            return NotFound();
        }

        (Areas, Version) = (row.Serves, row.Version);
        return await ShowAsync(row, cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await RowAsync(cancel) is not { } row)
        {
            return NotFound();
        }

        if (ModelState.IsValid)
        {
            var served = await serve.RunAsync(viewer, Id, new(Areas), Version, cancel);
            if (served.Ok)
            {
                TempData["Done"] = served.Value.Serves.Count == 0 ? "Saved: every place is served." : "The areas are saved.";
                return LocalRedirect($"/people/instructors/{Id}/areas");
            }

            this.AddRefusal(served.Refusal, "");
        }

        return await ShowAsync(row, cancel);
    }

    private async Task<Instructor?> RowAsync(CancellationToken cancel) =>
        viewer.MaySayWhatServes(Id) ? await db.Set<Instructor>().AsNoTracking().SingleOrDefaultAsync(i => i.Id == Id, cancel) : null;

    private async Task<PageResult> ShowAsync(Instructor row, CancellationToken cancel)
    {
        (Name, All) = (row.Name, await areas.ListAsync(cancel));
        return Page();
    }
}
