using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

[Needs(Permission.OwnSignIn)]
internal sealed class AccountModel(
    UserManager<Person> people, SignInManager<Person> signIn, ChangePassword changePassword, ApiTokens apiTokens, SchoolInfo school, Viewer viewer) : PageModel
{
    public string Email { get; private set; } = "";

    public bool SecondStep { get; private set; }

    public IReadOnlyList<TokenLine> Tokens { get; private set; } = [];

    [BindProperty]
    public string? Name { get; set; }

    [BindProperty]
    public string? Present { get; set; }

    [BindProperty]
    public string? Password { get; set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        Name = (await OwnAsync()).Name;
        await FillAsync(cancel);
    }

    public async Task<IActionResult> OnPostNameAsync(CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var name = errors.ReadLine(nameof(Name), Name, InvitePerson.LongestName, "Enter your name.");
        if (errors.ToRefusal() is { } refusal)
        {
            return await AgainAsync(refusal, cancel);
        }

        var person = await OwnAsync();
        person.Name = name;
        await people.UpdateAsync(person);
        return await DoneAsync(person, "Your name is changed.");
    }

    public async Task<IActionResult> OnPostPasswordAsync(CancellationToken cancel)
    {
        var person = await OwnAsync();
        var changed = await changePassword.RunAsync(person, Present ?? "", Password ?? "", cancel);
        return changed.Ok
            ? await DoneAsync(person, "Your password is changed. Other browsers and programs have to sign in again.")
            : await AgainAsync(changed.Refusal, cancel);
    }

    public async Task<IActionResult> OnPostEndAsync(Guid id, CancellationToken cancel)
    {
        if (!await apiTokens.RevokeAsync(viewer, id, cancel))
        {
            return NotFound();
        }

        TempData["Done"] = "That token is ended.";
        return RedirectToPage();
    }

    private async Task<Person> OwnAsync() =>
        await people.GetUserAsync(User) ?? throw new InvalidOperationException("The signed-in person is gone.");

    /// <summary>Keeps this browser signed in under the new stamp and name.</summary>
    private async Task<RedirectToPageResult> DoneAsync(Person person, string done)
    {
        await signIn.RefreshSignInAsync(person);
        TempData["Done"] = done;
        return RedirectToPage();
    }

    private async Task<PageResult> AgainAsync(Refusal refusal, CancellationToken cancel)
    {
        ModelState.AddRefusal(refusal);
        await FillAsync(cancel);
        return Page();
    }

    private async Task FillAsync(CancellationToken cancel)
    {
        var person = await OwnAsync();
        var facts = await school.GetAsync(cancel);
        (Email, SecondStep) = (person.Email!, person.TwoFactorEnabled);
        Name ??= person.Name;
        var rows = await apiTokens.Living(viewer.PersonId).OrderByDescending(t => t.Id).ToListAsync(cancel);
        Tokens = rows.ConvertAll(t => new TokenLine(t.Id, Day(t.CreatedAt), Day(t.ExpiresAt), t.LastUsedAt is { } used ? Day(used) : "never"));

        string Day(Instant moment) => ScreenWords.DayAndYear(moment.InZone(facts.Zone).Date);
    }

    internal sealed record TokenLine(Guid Id, string Made, string Ends, string Used);
}
