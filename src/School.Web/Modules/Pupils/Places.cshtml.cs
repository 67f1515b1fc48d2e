using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>The places that a pupil named: the pupil's own, or any pupil's for staff; the pupil and the office change them.</summary>
[Needs(Permission.OwnDetails)]
[OfPupil("id", Sight.ByReason)]
internal sealed class PlacesModel(SchoolDb db, AddPupilPlace add, ChangePupilPlace change, RemovePupilPlace remove, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>The place that is being changed; null where one is added.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Change { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public PlaceInput Input { get; set; } = new();

    public Pupil Pupil { get; private set; } = null!;

    public IReadOnlyList<PupilPlace> Rows { get; private set; } = [];

    public bool Own => viewer.PupilId == Id;

    public bool MayChange => (Own || viewer.KeepsDiary || viewer.KeepsPupils) && Pupil.RetiredOn is null;

    public string Back => Own ? "/pupils/me" : $"/pupils/{Id}";

    public string UsualAddress => Own ? "/pupils/me" : $"/pupils/{Id}/change";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        if (Change is not null)
        {
            if (Rows.FirstOrDefault(row => row.Id == Change) is not { } row)
            {
                return NotFound();
            }

            (Version, Input) = (row.Version, PlaceInput.Of(row.At));
        }

        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var kept = Change is { } place
            ? await change.RunAsync(viewer, place, new(Id, Input), Version, cancel)
            : await add.RunAsync(viewer, Id, Input, cancel);
        if (kept.Ok)
        {
            TempData["Done"] = $"{(Change is null ? "Added" : "Changed")}: {kept.Value.At.Label}.";
            return Redirect($"/pupils/{Id}/places");
        }

        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        this.AddRefusal(kept.Refusal, kept.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    public async Task<IActionResult> OnPostRemoveAsync(Guid place, CancellationToken cancel)
    {
        var removed = await remove.RunAsync(viewer, place, new(Id, null), null, cancel);
        TempData["Done"] = removed.Ok ? $"Removed: {removed.Value.At.Label}." : removed.Refusal.Kind == RefusalKind.NotFound ? "That place was removed already." : removed.Refusal.For(viewer);
        return Redirect($"/pupils/{Id}/places");
    }

    private async Task<bool> LoadAsync(CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return false;
        }

        Pupil = pupil;
        Rows = await db.Set<PupilPlace>().AsNoTracking().Where(p => p.PupilId == Id).OrderBy(p => p.Id).ToListAsync(cancel);
        return true;
    }
}
