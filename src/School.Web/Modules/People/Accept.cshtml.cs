using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class AcceptModel(AcceptInvitation accept, JoinInvitation join, PageSignIn pageSignIn) : PageModel
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

    /// <summary>The invitation stands beside pupils and does nothing else, so that whoever signs in already can take it into that sign-in.</summary>
    public bool MayJoin => Invited is { ContactId: not null, IsStaff: false, PupilId: null };

    /// <summary>Who is signed in on this browser.</summary>
    public Viewer? Here => Viewer.From(User);

    public string Again => $"/people/accept?person={Person}&token={Uri.EscapeDataString(Token ?? "")}";

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

    public async Task<IActionResult> OnPostJoinAsync(CancellationToken cancel)
    {
        if (Here is not { } viewer)
        {
            return Redirect($"/people/sign-in?next={Uri.EscapeDataString(Again)}");
        }

        if (viewer.SecondStepMissing)
        {
            return LocalRedirect(PageSignIn.SetUpSecondStep);
        }

        var joined = await join.RunAsync(viewer, Person, Token, cancel);
        if (joined.Ok)
        {
            TempData["Done"] = "You stand beside pupils with your own sign-in now.";
            return LocalRedirect("/diary/beside");
        }

        await OnGetAsync(cancel);
        this.AddRefusal(joined.Refusal);
        return Page();
    }
}
