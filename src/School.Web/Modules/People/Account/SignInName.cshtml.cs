using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Account;

/// <summary>Changes the name by which somebody signs in, with the password again.</summary>
[Needs(Permission.OwnSignIn)]
internal sealed class SignInNameModel(SchoolDb db, ChangeSignInName change, Viewer viewer) : PageModel
{
    [BindProperty]
    public string? Name { get; set; }

    [BindProperty]
    public string? Present { get; set; }

    public string SignsInAs { get; private set; } = "";

    public string Email { get; private set; } = "";

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var person = await db.Set<Person>().AsNoTracking().SingleAsync(p => p.Id == viewer.PersonId, cancel);
        (SignsInAs, Email) = (person.UserName!, person.Email!);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var changed = await change.RunAsync(viewer, new(Present, Name), cancel);
        if (changed.Ok)
        {
            TempData["Done"] = $"You sign in as {changed.Value.UserName} from now on.";
            return Redirect("/people/account");
        }

        this.AddRefusal(changed.Refusal);
        await OnGetAsync(cancel);
        return Page();
    }
}
