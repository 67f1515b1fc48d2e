using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

[Needs(Permission.ManagePupils), ShowsWhatStands]
internal sealed class ChangeModel(SchoolDb db, OwnPupils own, ChangePupil change, ChangeContact contact, RetirePupil retire, TakeBackPupil takeBack, LessonAhead ahead, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>The version that was opened; a change in between is told, not overwritten.</summary>
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public PupilInput Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public bool IsRetired { get; private set; }

    /// <summary>Opened by a reason alone: contact and places.</summary>
    public bool ByReason { get; private set; }

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(fill: true, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var changed = await change.RunAsync(viewer, Id, Input, Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = $"What you changed about {changed.Value.Name} is kept. {await ahead.TellAsync(changed.Value, cancel)}".Trim();
                return LocalRedirect($"/pupils/{Id}");
            }

            this.AddRefusal(changed.Refusal, nameof(Input));
        }

        return await ShowAsync(fill: false, cancel);
    }

    /// <summary>What a reason opens is changed by itself.</summary>
    public async Task<IActionResult> OnPostContactAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var changed = await contact.RunAsync(viewer, Id, Input, Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = $"What you changed about {changed.Value.Name} is kept.";
                return LocalRedirect($"/pupils/{Id}");
            }

            this.AddRefusal(changed.Refusal, nameof(Input));
        }

        return await ShowAsync(fill: false, cancel);
    }

    public async Task<IActionResult> OnPostRetireAsync(CancellationToken cancel)
    {
        var retired = await retire.RunAsync(viewer, Id, null, cancel);
        if (retired.Ok)
        {
            TempData["Done"] = $"{retired.Value.Name} takes no more lessons.";
            return LocalRedirect($"/pupils/{Id}");
        }

        if (await own.OfKnownAsync(viewer, Id, cancel) == Sight.Name)
        {
            // There is no page about them to say it on but the one with the name.
            TempData["Done"] = retired.Refusal.For(viewer);
            return LocalRedirect(OwnPupils.PageOf(Id));
        }

        ModelState.Clear();
        this.AddRefusal(retired.Refusal);
        return await ShowAsync(fill: true, cancel);
    }

    public async Task<IActionResult> OnPostTakeBackAsync(CancellationToken cancel)
    {
        if ((await takeBack.RunAsync(viewer, Id, null, cancel)).Value is not { } back)
        {
            return NotFound();
        }

        TempData["Done"] = $"{back.Name} takes lessons again.";
        return LocalRedirect($"/pupils/{Id}");
    }

    private async Task<IActionResult> ShowAsync(bool fill, CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return NotFound();
        }

        var sight = await own.OfAsync(viewer, Id, cancel);
        if (sight == Sight.Name)
        {
            return LocalRedirect($"{OwnPupils.PageOf(Id)}?to={Uri.EscapeDataString($"/pupils/{Id}/change")}");
        }

        ByReason = sight == Sight.ByReason;
        (Name, IsRetired) = (pupil.Name, pupil.RetiredOn is not null);
        if (fill)
        {
            (Input, Version) = (PupilInput.Of(pupil), pupil.Version);
        }

        return Page();
    }
}
