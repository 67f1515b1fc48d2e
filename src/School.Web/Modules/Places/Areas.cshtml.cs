using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Places.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

/// <summary>The areas of the school.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class AreasModel(AreaBook areas, AddArea add, RemoveArea remove, Viewer viewer) : PageModel
{
    [BindProperty]
    public AreaForm Input { get; set; } = new();

    public IReadOnlyList<AreaCard> Rows { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel) => Rows = await areas.ListAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var added = await add.RunAsync(viewer, new(Input.Name, (Input.Districts ?? "").Split([',', ' ', ';', '\n', '\r'], StringSplitOptions.RemoveEmptyEntries)), cancel);
            if (added.Ok)
            {
                TempData["Done"] = $"Added: {added.Value.Name}.";
                return RedirectToPage();
            }

            this.AddRefusal(added.Refusal, added.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        }

        Rows = await areas.ListAsync(cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostRemoveAsync(Guid id, CancellationToken cancel)
    {
        var removed = await remove.RunAsync(viewer, id, null, cancel);
        TempData["Done"] = removed.Ok ? $"Removed: {removed.Value.Name}." : "That area was removed already.";
        return RedirectToPage();
    }

    internal sealed class AreaForm
    {
        public string? Name { get; set; }

        public string? Districts { get; set; }
    }
}
