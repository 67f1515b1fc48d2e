using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Where the first person begins, from a browser and nothing else.</summary>
[AllowAnonymous]
internal sealed class FirstSignInModel(BeginHere begin, FirstCode code, PageSignIn pageSignIn, KnownDevices devices) : PageModel
{
    public const string Address = "/people/first-sign-in";

    [BindProperty]
    public FirstForm Input { get; set; } = new();

    public bool Open { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel) => Open = await code.IsOpenAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var begun = await begin.RunAsync(devices.Of(HttpContext), new(Input.Code, Input.Name, Input.Email, Input.Password), cancel);
        if (begun.Ok)
        {
            await pageSignIn.FinishAsync(HttpContext, begun.Value, "the first code", cancel);
            return LocalRedirect("/");
        }

        this.AddRefusal(begun.Refusal, nameof(Input));
        await OnGetAsync(cancel);
        return Page();
    }

    internal sealed class FirstForm
    {
        public string? Code { get; set; }

        public string? Name { get; set; }

        public string? Email { get; set; }

        public string? Password { get; set; }
    }
}
