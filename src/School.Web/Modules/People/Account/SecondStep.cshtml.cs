using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using QRCoder;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Account;

[Needs(Permission.OwnSignIn)]
internal sealed class SecondStepModel(
    UserManager<Person> people, SignInManager<Person> signIn, CheckSecondStep check, ChangePassword password, StaffSecondStep staff, SchoolInfo school) : PageModel
{
    private const int RecoveryCodes = 10;

    public bool On { get; private set; }

    public bool Required { get; private set; }

    public int CodesLeft { get; private set; }

    /// <summary>The key to confirm, in groups of four; null before the start.</summary>
    public string? Key { get; private set; }

    public string Picture { get; private set; } = "";

    /// <summary>Shown once, straight after they are made.</summary>
    public IReadOnlyList<string> Codes { get; private set; } = [];

    [BindProperty]
    public string? Code { get; set; }

    [BindProperty]
    public string? Present { get; set; }

    public async Task OnGetAsync(CancellationToken cancel) => await FillAsync(await OwnAsync(), cancel);

    public async Task<IActionResult> OnPostStartAsync()
    {
        var person = await OwnAsync();
        if (!person.TwoFactorEnabled)
        {
            await people.ResetAuthenticatorKeyAsync(person);
            await signIn.RefreshSignInAsync(person);
        }

        return RedirectToPage();
    }

    public async Task<IActionResult> OnPostConfirmAsync(CancellationToken cancel)
    {
        var person = await OwnAsync();
        if (person.TwoFactorEnabled)
        {
            return RedirectToPage();
        }

        var right = await check.RunAsync(person, Code ?? "", cancel);
        if (!right.Ok)
        {
            return await AgainAsync(person, Refusal.Invalid(nameof(Code), right.Refusal.Sentence), cancel);
        }

        await people.SetTwoFactorEnabledAsync(person, true);
        return await ShowNewCodesAsync(person);
    }

    public async Task<IActionResult> OnPostCodesAsync(CancellationToken cancel)
    {
        var person = await OwnAsync();
        return !person.TwoFactorEnabled ? RedirectToPage()
            : await password.IsAsync(person, Present ?? "", cancel) is { } refusal ? await AgainAsync(person, refusal, cancel)
            : await ShowNewCodesAsync(person);
    }

    public async Task<IActionResult> OnPostOffAsync(CancellationToken cancel)
    {
        var person = await OwnAsync();
        var refusal = staff.IsRequiredFor(person.Role)
            ? Refusal.Rule("second_step_required", "Staff of this school use two-step sign-in.")
            : await password.IsAsync(person, Present ?? "", cancel);
        if (refusal is not null)
        {
            return await AgainAsync(person, refusal, cancel);
        }

        await people.SetTwoFactorEnabledAsync(person, false);
        await people.ResetAuthenticatorKeyAsync(person);
        await signIn.RefreshSignInAsync(person);
        TempData["Done"] = "Two-step sign-in is off.";
        return LocalRedirect("/people/account");
    }

    private async Task<Person> OwnAsync() =>
        await people.GetUserAsync(User) ?? throw new InvalidOperationException("The signed-in person is gone.");

    private async Task<PageResult> ShowNewCodesAsync(Person person)
    {
        Codes = [.. await people.GenerateNewTwoFactorRecoveryCodesAsync(person, RecoveryCodes) ?? []];
        await signIn.RefreshSignInAsync(person);
        return Page();
    }

    private async Task<PageResult> AgainAsync(Person person, Refusal refusal, CancellationToken cancel)
    {
        ModelState.AddRefusal(refusal);
        await FillAsync(person, cancel);
        return Page();
    }

    private async Task FillAsync(Person person, CancellationToken cancel)
    {
        (On, Required) = (person.TwoFactorEnabled, staff.IsRequiredFor(person.Role));
        CodesLeft = On ? await people.CountRecoveryCodesAsync(person) : 0;
        if (!On && await people.GetAuthenticatorKeyAsync(person) is { } key)
        {
            Key = string.Join(' ', key.Chunk(4).Select(four => new string(four)));
            Picture = PictureOf(key, person.Email!, (await school.GetAsync(cancel)).Name);
        }
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
