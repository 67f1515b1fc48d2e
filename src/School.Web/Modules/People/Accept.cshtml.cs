using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class AcceptModel(AcceptInvitation accept, PageSignIn pageSignIn) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Person { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Token { get; set; }

    /// <summary>The name that they choose, where others have their address.</summary>
    [BindProperty]
    public string? SignInName { get; set; }

    [BindProperty]
    public string? Password { get; set; }

    /// <summary>Whom the link invites; null when it is over.</summary>
    public Person? Invited { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        Invited = await accept.WhomAsync(Person, Token, cancel);
        SignInName ??= Invited is null ? null : Core.People.SignInName.Suggest(Invited.Name);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var accepted = await accept.RunAsync(Person, new(Token, Password, SignInName), cancel);
        if (accepted.Ok)
        {
            await pageSignIn.FinishAsync(HttpContext, accepted.Value, "an invitation", cancel);
            return LocalRedirect("/");
        }

        await OnGetAsync(cancel);
        this.AddRefusal(accepted.Refusal);
        return Page();
    }
}
