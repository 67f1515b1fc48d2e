using System.Globalization;
using System.Security.Claims;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>Carries a person whose password was right through the second step and into the pages.</summary>
internal sealed class PageSignIn(OpenSession open, Sessions sessions, KnownDevices devices, StaffSecondStep secondStep, SchoolDb db)
{
    public const string SetUpSecondStep = "/people/account/second-step";
    public const string Secret = "school:secret";
    private const string Stamp = "school:stamp";

    /// <summary>Remembers for five minutes, in a cookie of its own, who may go on to the second step.</summary>
    public static Task HoldAsync(HttpContext context, Proven who)
    {
        var identity = new ClaimsIdentity(IdentityConstants.TwoFactorUserIdScheme);
        identity.AddClaim(new(ClaimTypes.Name, who.Viewer.PersonId.ToString()));
        identity.AddClaim(new(Stamp, who.Stamp));
        return context.SignInAsync(IdentityConstants.TwoFactorUserIdScheme, new(identity));
    }

    public async Task<Proven?> HeldAsync(HttpContext context, CancellationToken cancel)
    {
        var held = (await context.AuthenticateAsync(IdentityConstants.TwoFactorUserIdScheme)).Principal;
        if (!Guid.TryParse(held?.FindFirstValue(ClaimTypes.Name), out var id))
        {
            return null;
        }

        var stamp = held.FindFirstValue(Stamp);
        var person = await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id && !p.Closed && p.SecurityStamp == stamp, cancel);
        return person is null ? null : Proven.Of(person);
    }

    /// <param name="context">The request of somebody's browser.</param>
    /// <param name="who">Who they have shown to be.</param>
    /// <param name="how">By what, as in <see cref="SessionWish.How"/>.</param>
    /// <param name="cancel">Stops it.</param>
    public async Task FinishAsync(HttpContext context, Proven who, string how, CancellationToken cancel)
    {
        await context.SignOutAsync(IdentityConstants.TwoFactorUserIdScheme);
        var wish = new SessionWish(who.Stamp, how, DeviceWords.Of(context.Request.Headers.UserAgent), Viewer.From(context.User)?.SessionId);
        var opened = await open.RunAsync(who.Viewer, wish, cancel);
        if (!opened.Ok)
        {
            throw new InvalidOperationException(opened.Refusal.For(null));
        }

        devices.Remember(context, who.Viewer.PersonId);
        // Nothing else is in the cookie: who they are and what they may is read anew each time.
        var cookie = new ClaimsIdentity([new(Secret, opened.Value.Secret)], IdentityConstants.ApplicationScheme);
        var longest = OpenSession.LongestFor(who.Viewer).ToTimeSpan().ToString("c", CultureInfo.InvariantCulture);
        await context.SignInAsync(IdentityConstants.ApplicationScheme, new(cookie), new() { Items = { [nameof(CookieBuilder.MaxAge)] = longest } });
    }

    /// <summary>The browser forgets the cookie when the session ends.</summary>
    public static Task LimitAsync(CookieSigningInContext context)
    {
        context.CookieOptions.MaxAge = TimeSpan.Parse(context.Properties.Items[nameof(CookieBuilder.MaxAge)]!, CultureInfo.InvariantCulture);
        return Task.CompletedTask;
    }

    /// <summary>Fills in the principal of a cookie, or turns the cookie away.</summary>
    public async Task ValidateAsync(CookieValidatePrincipalContext context)
    {
        var secret = context.Principal?.FindFirstValue(Secret);
        if (secret is not null && await sessions.FindAsync(secret, context.HttpContext.RequestAborted) is { } found)
        {
            context.ReplacePrincipal(PersonClaims.Principal(
                found.Person, secondStep.IsMissing(found.Person), IdentityConstants.ApplicationScheme, new Claim(AccessClaims.Session, found.Id.ToString())));
            return;
        }

        context.RejectPrincipal();
        await context.HttpContext.SignOutAsync(IdentityConstants.ApplicationScheme);
    }
}
