using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

[Needs(Permission.OwnSignIn)]
internal sealed class AccountModel(
    SchoolDb db, ChangePassword changePassword, ChangeOwnName changeName, Sessions sessions, ApiTokens tokens, Viewer viewer) : PageModel
{
    public string Email { get; private set; } = "";

    public string SignInName { get; private set; } = "";

    public bool SecondStep { get; private set; }

    public int Browsers { get; private set; }

    public int Programs { get; private set; }

    [BindProperty]
    public string? Name { get; set; }

    [BindProperty]
    public string? Present { get; set; }

    [BindProperty]
    public string? Password { get; set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var person = await db.Set<Person>().AsNoTracking().SingleAsync(p => p.Id == viewer.PersonId, cancel);
        (Email, SignInName, SecondStep) = (person.Email!, person.UserName!, person.TwoFactorEnabled);
        Name ??= person.Name;
        (Browsers, Programs) = (await sessions.Living(viewer.PersonId).CountAsync(cancel), await tokens.Living(viewer.PersonId).CountAsync(cancel));
    }

    public async Task<IActionResult> OnPostNameAsync(CancellationToken cancel)
    {
        var changed = await changeName.RunAsync(viewer, Name, cancel);
        return changed.Ok ? Done("Your name is changed.") : await AgainAsync(changed.Refusal, cancel);
    }

    public async Task<IActionResult> OnPostPasswordAsync(CancellationToken cancel)
    {
        var changed = await changePassword.RunAsync(viewer, new(Present, Password), cancel);
        return changed.Ok ? Done("Your password is changed. Other browsers and programs have to sign in again.") : await AgainAsync(changed.Refusal, cancel);
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
}
