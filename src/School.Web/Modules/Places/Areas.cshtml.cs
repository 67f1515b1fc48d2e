using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

/// <summary>The areas of the school.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class AreasModel(SchoolDb db, AreaBook areas, AddArea add, ChangeArea change, RemoveArea remove, Viewer viewer) : PageModel
{
    /// <summary>The area that is being changed; null where one is added.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Change { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public AreaForm Input { get; set; } = new();

    public IReadOnlyList<AreaCard> Rows { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        Rows = await areas.ListAsync(cancel);
        if (Change is not { } id)
        {
            return Page();
        }

        if (await db.Set<Area>().AsNoTracking().Include(a => a.Districts).SingleOrDefaultAsync(a => a.Id == id, cancel) is not { } row)
        {
            return NotFound();
        }

        Version = row.Version;
        Input = new() { Name = row.Name, Districts = string.Join(", ", row.Districts.Select(d => d.District).Order(StringComparer.Ordinal)) };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var input = new AreaInput(Input.Name, (Input.Districts ?? "").Split([',', ' ', ';', '\n', '\r'], StringSplitOptions.RemoveEmptyEntries));
            var kept = Change is { } id ? await change.RunAsync(viewer, id, input, Version, cancel) : await add.RunAsync(viewer, input, cancel);
            if (kept.Ok)
            {
                TempData["Done"] = $"{(Change is null ? "Added" : "Changed")}: {kept.Value.Name}.";
                return Redirect("/places/areas");
            }

            this.AddRefusal(kept.Refusal, kept.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        }

        Rows = await areas.ListAsync(cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostRemoveAsync(Guid id, CancellationToken cancel)
    {
        var removed = await remove.RunAsync(viewer, id, null, cancel);
        TempData["Done"] = removed.Ok ? $"Removed: {removed.Value.Name}." : removed.Refusal.Kind == RefusalKind.NotFound ? "That area was removed already." : removed.Refusal.For(viewer);
        return RedirectToPage();
    }

    internal sealed class AreaForm
    {
        public string? Name { get; set; }

        public string? Districts { get; set; }
    }
}
