using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

[Needs(Permission.ManageSchool)]
internal sealed class OfficeModel(SchoolDb db, InvitePerson invite, CloseSignIn close, Viewer viewer) : PageModel
{
    public IReadOnlyList<Line> Rows { get; private set; } = [];

    [BindProperty]
    public string? Name { get; set; }

    [BindProperty]
    public string? Email { get; set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var people = await db.Set<Person>().AsNoTracking().Where(p => p.Role == Role.Office).OrderBy(p => p.Name).ThenBy(p => p.Id).ToListAsync(cancel);
        Rows = people.ConvertAll(p => new Line(
            p.Id, p.Name, p.Email!, SignInWords.Of(SignIns.Card(p).State), p.TwoFactorEnabled, !p.Closed && p.Id != viewer.PersonId));
    }

    public async Task<IActionResult> OnPostInviteAsync(CancellationToken cancel)
    {
        var invited = await invite.RunAsync(viewer, new(Name, Email, Role.Office), cancel);
        return invited.Ok ? Done($"An invitation is on its way to {invited.Value.Person.Email}.") : await AgainAsync(invited.Refusal, cancel);
    }

    public async Task<IActionResult> OnPostCloseAsync(Guid id, CancellationToken cancel)
    {
        if (!await db.Set<Person>().AnyAsync(p => p.Id == id && p.Role == Role.Office, cancel))
        {
            return NotFound();
        }

        var closed = await close.RunAsync(viewer, id, cancel);
        return closed.Ok ? Done($"{closed.Value.Name} cannot sign in any more.") : await AgainAsync(closed.Refusal, cancel);
    }

    private RedirectToPageResult Done(string sentence)
    {
        TempData["Done"] = sentence;
        return RedirectToPage();
    }

    private async Task<PageResult> AgainAsync(Refusal refusal, CancellationToken cancel)
    {
        this.AddRefusal(refusal);
        await OnGetAsync(cancel);
        return Page();
    }

    internal sealed record Line(Guid Id, string Name, string Email, string SignIn, bool SecondStep, bool MayClose);
}
