using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using QRCoder;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Account;

[Needs(Permission.OwnSignIn)]
internal sealed class SecondStepModel(
    SchoolDb db, UserManager<Person> people, StartSecondStep start, TurnOnSecondStep turnOn, MakeRecoveryCodes make, TurnOffSecondStep turnOff,
    Sessions sessions, StaffSecondStep staff, SchoolInfo school, Viewer viewer) : PageModel
{
    public bool On { get; private set; }

    public bool Required { get; private set; }

    public int CodesLeft { get; private set; }

    /// <summary>The key to confirm, in groups of four; null before the start, and wherever the password was not given again just before.</summary>
    public string? Key { get; private set; }

    public string Picture { get; private set; } = "";

    /// <summary>Shown once, straight after they are made.</summary>
    public IReadOnlyList<string> Codes { get; private set; } = [];

    [BindProperty]
    public string? Code { get; set; }

    [BindProperty]
    public string? Present { get; set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var person = await db.Set<Person>().AsNoTracking().SingleAsync(p => p.Id == viewer.PersonId, cancel);
        (On, Required) = (person.TwoFactorEnabled, staff.IsRequiredFor(person.IsStaff));
        CodesLeft = On ? await people.CountRecoveryCodesAsync(person) : 0;
        if (!On && await sessions.ProvedAsync(viewer, StartSecondStep.KeyShown, cancel) && await people.GetAuthenticatorKeyAsync(person) is { } key)
        {
            Key = string.Join(' ', key.Chunk(4).Select(four => new string(four)));
            Picture = PictureOf(key, person.Email!, (await school.GetAsync(cancel)).Name);
        }
    }

    public async Task<IActionResult> OnPostStartAsync(CancellationToken cancel)
    {
        var started = await start.RunAsync(viewer, Present, cancel);
        return started.Ok ? RedirectToPage() : await AgainAsync(started.Refusal, cancel);
    }

    public async Task<IActionResult> OnPostConfirmAsync(CancellationToken cancel) => await ShowAsync(await turnOn.RunAsync(viewer, Code, cancel), cancel);

    public async Task<IActionResult> OnPostCodesAsync(CancellationToken cancel) => await ShowAsync(await make.RunAsync(viewer, Present, cancel), cancel);

    public async Task<IActionResult> OnPostOffAsync(CancellationToken cancel)
    {
        var off = await turnOff.RunAsync(viewer, Present, cancel);
        if (!off.Ok)
        {
            return await AgainAsync(off.Refusal, cancel);
        }

        TempData["Done"] = "Two-step sign-in is off.";
        return LocalRedirect("/people/account");
    }

    private async Task<IActionResult> ShowAsync(Outcome<RecoveryCodes> made, CancellationToken cancel)
    {
        if (!made.Ok)
        {
            return await AgainAsync(made.Refusal, cancel);
        }

        Codes = made.Value.Codes;
        return Page();
    }

    private async Task<PageResult> AgainAsync(Refusal refusal, CancellationToken cancel)
    {
        this.AddRefusal(refusal);
        await OnGetAsync(cancel);
        return Page();
    }

    private static string PictureOf(string key, string account, string issuer)
    {
        var (who, where) = (Uri.EscapeDataString(account), Uri.EscapeDataString(issuer));
        var address = $"otpauth://totp/{where}:{who}?secret={key}&issuer={where}&digits={Totp.Digits}&period={Totp.StepSeconds}";
        using var maker = new QRCodeGenerator();
        using var data = maker.CreateQrCode(address, QRCodeGenerator.ECCLevel.M);
        using var picture = new PngByteQRCode(data);
        return "data:image/png;base64," + Convert.ToBase64String(picture.GetGraphic(5));
    }
}
