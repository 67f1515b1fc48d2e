using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils.Contacts;

/// <summary>Somebody beside pupils: name and how to reach them.</summary>
[Needs(Permission.ManagePupils), ShowsWhatStands]
internal sealed class DetailsModel(SchoolDb db, ContactBook contacts, ISeeContacts sees, SignIns signIns, RemoveContact remove, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public ContactDetails Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public SignInCard OwnSignIn { get; private set; } = SignInCard.None;

    public IReadOnlyList<(Guid Id, string Name)> Pupils { get; private set; } = [];

    /// <summary>Whoever sees the pupils beside them by name alone is led to where a reason is given.</summary>
    public override async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        if (await sees.RefuseAsync(viewer, Id, HttpContext.RequestAborted) is { } unseen && unseen.More[Refusal.PageMember] is string page)
        {
            context.Result = LocalRedirect($"{page}?to={Uri.EscapeDataString($"/pupils/contacts/{Id}")}");
            return;
        }

        await base.OnPageHandlerExecutionAsync(context, next);
    }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await LoadAsync(cancel) is not { } found)
        {
            return NotFound();
        }

        (Input, Version) = (ContactDetails.Of(found.Card), found.Version);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var changed = await contacts.ChangeAsync(viewer, Id, Input, Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = "Your changes are kept.";
                return RedirectToPage(new { Id });
            }

            this.AddRefusal(changed.Refusal, changed.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        }

        return await LoadAsync(cancel) is null ? NotFound() : Page();
    }

    public async Task<IActionResult> OnPostCloseAsync(CancellationToken cancel)
    {
        if (await LoadAsync(cancel) is not { } found || OwnSignIn.PersonId is not { } person)
        {
            return NotFound();
        }

        var closed = await signIns.CloseAsync(viewer, person, cancel);
        if (closed.Ok)
        {
            TempData["Done"] = $"{found.Card.Name} cannot sign in any more.";
            return RedirectToPage(new { Id });
        }

        this.AddRefusal(closed.Refusal);
        (Input, Version) = (ContactDetails.Of(found.Card), found.Version);
        return Page();
    }

    public async Task<IActionResult> OnPostForgetAsync(CancellationToken cancel)
    {
        var forgotten = await remove.RunAsync(viewer, Id, null, cancel);
        if (forgotten.Ok)
        {
            TempData["Done"] = $"{forgotten.Value.Name} is forgotten.";
            return Redirect("/pupils/contacts");
        }

        this.AddRefusal(forgotten.Refusal);
        if (await LoadAsync(cancel) is not { } found)
        {
            return NotFound();
        }

        (Input, Version) = (ContactDetails.Of(found.Card), found.Version);
        return Page();
    }

    private async Task<(ContactCard Card, int Version)?> LoadAsync(CancellationToken cancel)
    {
        if (await contacts.FindToChangeAsync(Id, cancel) is not { } found)
        {
            return null;
        }

        Name = found.Card.Name;
        OwnSignIn = (await signIns.OfContactsAsync([Id], cancel)).GetValueOrDefault(Id, SignInCard.None);
        Pupils = [.. (await db.Set<BesidePupil>().Where(b => b.ContactId == Id).Join(db.Set<Pupil>(), b => b.PupilId, p => p.Id, (b, p) => new { p.Id, p.Name })
            .OrderBy(p => p.Name).ToListAsync(cancel)).Select(p => (p.Id, p.Name))];
        return found;
    }
}
