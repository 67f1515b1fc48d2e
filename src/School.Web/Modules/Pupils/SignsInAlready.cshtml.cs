using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Gives somebody who signs in for another reason the hat of a pupil as well.</summary>
[Needs(Permission.GiveHats)]
[OfPupil("id", Sight.ByReason)]
internal sealed class SignsInAlreadyModel(SchoolDb db, SignIns signIns, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public Guid? Person { get; set; }

    public string Name { get; private set; } = "";

    public IReadOnlyList<SelectListItem> People { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return NotFound();
        }

        Name = pupil.Name;
        People = [.. (await signIns.NoPupilsOfAsync(pupil.Email, cancel)).Where(card => card.Name.Length > 0).Select(card => new SelectListItem($"Who signs in as {card.Name}", card.PersonId.ToString()))];
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var shown = await OnGetAsync(cancel);
        if (shown is NotFoundResult)
        {
            return shown;
        }

        if (Person is not { } person || People.All(choice => choice.Value != person.ToString()))
        {
            ModelState.AddModelError(nameof(Person), "Choose who of them it is.");
            return Page();
        }

        var given = await signIns.BePupilAsync(viewer, person, Id, cancel);
        if (given.Ok)
        {
            TempData["Done"] = $"{Name} learns here with the sign-in {given.Value.Name}.";
            return LocalRedirect($"/pupils/{Id}");
        }

        this.AddRefusal(given.Refusal);
        return Page();
    }
}
