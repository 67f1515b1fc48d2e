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
internal sealed class IndexModel(SchoolDb db, AddPlace add, RemovePlace remove, Viewer viewer) : PageModel
{
    public static IReadOnlyList<SelectListItem> Kinds { get; } =
    [
        new("A test centre", nameof(PlaceKind.TestCentre)), new("A station", nameof(PlaceKind.Station)),
        new("A school or college", nameof(PlaceKind.School)), new("Another place", nameof(PlaceKind.Other)),
    ];

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

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var added = await add.RunAsync(viewer, Input.ToInput(), cancel);
            if (added.Ok)
            {
                TempData["Done"] = $"Added: {added.Value.At.Label}.";
                return RedirectToPage();
            }

            foreach (var (field, sentences) in added.Refusal.Fields)
            {
                var name = field.StartsWith("At.", StringComparison.Ordinal) ? field["At.".Length..] : field;
                Array.ForEach(sentences, sentence => ModelState.AddModelError($"{nameof(Input)}.{name}", sentence));
            }

            if (added.Refusal.Fields.Count == 0)
            {
                this.AddRefusal(added.Refusal);
            }
        }

        await LoadAsync(cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostRemoveAsync(Guid id, CancellationToken cancel)
    {
        var removed = await remove.RunAsync(viewer, id, null, cancel);
        TempData["Done"] = removed.Ok ? $"Removed: {removed.Value.At.Label}." : "That place was removed already.";
        return RedirectToPage();
    }

    private async Task LoadAsync(CancellationToken cancel) =>
        Rows = await db.Set<SchoolPlace>().AsNoTracking().OrderBy(p => p.At.Label).ThenBy(p => p.Id).ToListAsync(cancel);

    internal sealed class PlaceForm
    {
        public PlaceKind? Kind { get; set; }

        public string? Label { get; set; }

        public string? Address { get; set; }

        public string? Postcode { get; set; }

        public string? Position { get; set; }

        public SchoolPlaceInput ToInput() => new(Kind, new(Label, Address, Postcode, Position: Position));
    }
}
