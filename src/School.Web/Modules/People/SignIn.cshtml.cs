using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class SignInModel(CheckPassword checkPassword, PageSignIn pageSignIn, KnownDevices devices, FirstCode first) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Next { get; set; }

    [BindProperty]
    public SignInInput Input { get; set; } = new();

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) =>
        User.Identity?.IsAuthenticated == true ? LocalRedirect("/") : await first.IsOpenAsync(cancel) ? LocalRedirect(FirstSignInModel.Address) : Page();

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var person = await checkPassword.RunAsync(Input.Email, Input.Password, devices.Of(HttpContext), cancel);
        if (!person.Ok)
        {
            ModelState.AddModelError($"{nameof(Input)}.{nameof(Input.Password)}", person.Refusal.For(null));
            return Page();
        }

        if (person.Value.HasSecondStep)
        {
            await PageSignIn.HoldAsync(HttpContext, person.Value);
            return RedirectToPage("/People/SecondStep", new { Next });
        }

        await pageSignIn.FinishAsync(HttpContext, person.Value, "a password", cancel);
        return LocalRedirect(Url.LocalOr(Next, "/"));
    }

    internal sealed class SignInInput
    {
        [Required(ErrorMessage = "Type the e-mail address or the name that you sign in with.")]
        public string Email { get; set; } = "";

        [Required(ErrorMessage = "Type your password.")]
        public string Password { get; set; } = "";
    }
}
