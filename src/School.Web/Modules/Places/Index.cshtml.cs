using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

/// <summary>The places that the school knows.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class IndexModel(SchoolDb db, AddPlace add, ChangePlace change, RemovePlace remove, Viewer viewer) : PageModel
{
    public static IReadOnlyList<SelectListItem> Kinds { get; } =
    [
        new("A test centre", nameof(PlaceKind.TestCentre)), new("A station", nameof(PlaceKind.Station)),
        new("A school or college", nameof(PlaceKind.School)), new("Another place", nameof(PlaceKind.Other)),
    ];

    /// <summary>The place that is being changed; null where one is added.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Change { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public PlaceForm Input { get; set; } = new();

    public IReadOnlyList<SchoolPlace> Rows { get; private set; } = [];

    public static string KindOf(SchoolPlace row) => Kinds.First(kind => kind.Value == row.Kind.ToString()).Text;

    public static string SureOf(SchoolPlace row) => row.At.Certainty switch
    {
        PlaceCertainty.Exact => "",
        PlaceCertainty.Roughly => "(roughly)",
        PlaceCertainty.ToBeFound => "(to be found)",
    };

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        await LoadAsync(cancel);
        if (Change is null)
        {
            return Page();
        }

        if (Rows.FirstOrDefault(row => row.Id == Change) is not { } row)
        {
            return NotFound();
        }

        (Version, Input) = (row.Version, new() { Kind = row.Kind, At = PlaceInput.Of(row.At) });
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var input = new SchoolPlaceInput(Input.Kind, Input.At);
            var kept = Change is { } id ? await change.RunAsync(viewer, id, input, Version, cancel) : await add.RunAsync(viewer, input, cancel);
            if (kept.Ok)
            {
                TempData["Done"] = $"{(Change is null ? "Added" : "Changed")}: {kept.Value.At.Label}.";
                return Redirect("/places");
            }

            this.AddRefusal(kept.Refusal, kept.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        }

        await LoadAsync(cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostRemoveAsync(Guid id, CancellationToken cancel)
    {
        var removed = await remove.RunAsync(viewer, id, null, cancel);
        TempData["Done"] = removed.Ok ? $"Removed: {removed.Value.At.Label}." : removed.Refusal.Kind == RefusalKind.NotFound ? "That place was removed already." : removed.Refusal.For(viewer);
        return RedirectToPage();
    }

    private async Task LoadAsync(CancellationToken cancel) =>
        Rows = await db.Set<SchoolPlace>().AsNoTracking().OrderBy(p => p.At.Label).ThenBy(p => p.Id).ToListAsync(cancel);

    internal sealed class PlaceForm
    {
        public PlaceKind? Kind { get; set; }

        public PlaceInput At { get; set; } = new();
    }
}
