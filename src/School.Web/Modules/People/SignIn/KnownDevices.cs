using System.Security.Cryptography;
using Microsoft.AspNetCore.DataProtection;
using NodaTime;
using School.Web.Platform.Database;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>Who tries: the network they come from, and for whom this browser has signed in before.</summary>
/// <param name="Network">As <see cref="Caller"/> says it.</param>
/// <param name="Devices">The browser's own number for each person who signed in on it.</param>
internal sealed record SignInCaller(string Network, IReadOnlyDictionary<Guid, Guid> Devices);

/// <summary>
/// A cookie that says for whom this browser signed in before (OWASP, Slow Down Online Guessing Attacks with Device Cookies). It opens
/// nothing: it only sets a browser's tries apart from those of strangers, so that strangers cannot lock its owner out.
/// </summary>
internal sealed class KnownDevices(IDataProtectionProvider protection, CookieRules rules)
{
    private const int MostPeople = 5;
    private static readonly Duration Lifetime = Duration.FromDays(365);
    private readonly IDataProtector _protector = protection.CreateProtector("School.KnownDevice.v1");

    private string Name => rules.Name("school-known");

    public SignInCaller Of(HttpContext context) => new(context.Network(), Read(context).ToDictionary(entry => entry.Person, entry => entry.Device));

    /// <summary>Notes that somebody signed in on this browser; those of longest ago are forgotten first.</summary>
    public void Remember(HttpContext context, Guid person)
    {
        var others = Read(context).Where(entry => entry.Person != person).Take(MostPeople - 1);
        var words = string.Join(' ', others.Prepend((Person: person, Device: RowId.New())).Select(entry => $"{entry.Person:N}{entry.Device:N}"));
        context.Response.Cookies.Append(Name, _protector.Protect(words), new()
        {
            HttpOnly = true,
            Secure = rules.Https || context.Request.IsHttps,
            SameSite = SameSiteMode.Lax,
            Path = "/",
            MaxAge = Lifetime.ToTimeSpan(),
            IsEssential = true,
        });
    }

    private List<(Guid Person, Guid Device)> Read(HttpContext context)
    {
        if (context.Request.Cookies[Name] is not { Length: > 0 } cookie)
        {
            return [];
        }

        try
        {
            return [.. _protector.Unprotect(cookie).Split(' ').Select(entry => (Guid.ParseExact(entry[..32], "N"), Guid.ParseExact(entry[32..], "N")))];
        }
        catch (Exception wrong) when (wrong is CryptographicException or FormatException)
        {
            return [];
        }
    }
}
