using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class SecondStepModel(CheckSecondStep checkSecondStep, PageSignIn pageSignIn, KnownDevices devices) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Next { get; set; }

    [BindProperty, Required(ErrorMessage = "Type the code.")]
    public string Code { get; set; } = "";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) => await pageSignIn.HeldAsync(HttpContext, cancel) is null ? StartAgain() : Page();

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await pageSignIn.HeldAsync(HttpContext, cancel) is not { } person)
        {
            return StartAgain();
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var through = await checkSecondStep.RunAsync(person, Code, devices.Of(HttpContext), cancel);
        if (!through.Ok)
        {
            ModelState.AddModelError(nameof(Code), through.Refusal.For(Viewer.From(User)));
            return Page();
        }

        await pageSignIn.FinishAsync(HttpContext, through.Value, "a password and a code", cancel);
        return LocalRedirect(Url.LocalOr(Next, "/"));
    }

    private RedirectToPageResult StartAgain() => RedirectToPage("/People/SignIn", new { Next });
}
