using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Identity;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>ASP.NET Core Identity with the defaults that must not stay (sources beside each; OWASP ASVS 5.0 numbers).</summary>
internal static class SignInSetup
{
    public static IServiceCollection AddSignIn(this IServiceCollection services, IConfiguration configuration)
    {
        var cookies = CookieRules.Read(configuration);
        services.AddSingleton(cookies);
        services.AddSingleton<TimeProvider, ClockTime>();
        // Before the framework's own, which then stay away.
        services.AddScoped<ILookupNormalizer, FoldedNames>();
        services.AddScoped<IUserValidator<Person>, OneNameOnePerson>();
        services.AddIdentityCore<Person>(options =>
            {
                options.Tokens.PasswordResetTokenProvider = LinkTokens.Provider;
                options.Stores.SchemaVersion = IdentitySchemaVersions.Version3;
                options.Password.RequiredLength = 12; // V6.2.1
                options.Password.RequireDigit = false; // V6.2.5: no composition rules
                options.Password.RequireLowercase = false;
                options.Password.RequireUppercase = false;
                options.Password.RequireNonAlphanumeric = false;
            })
            .AddUserStore<PersonStore>()
            .AddErrorDescriber<SignInSentences>()
            .AddPasswordValidator<GuessablePasswords>()
            .AddTokenProvider<LinkTokens>(LinkTokens.Provider)
            .AddTokenProvider<TotpProvider>(TokenOptions.DefaultAuthenticatorProvider);
        services.Configure<PasswordHasherOptions>(options => options.IterationCount = configuration.GetValue("School:PasswordIterations", 210_000)); // V11.4.2
        services.AddAuthentication(AccessSetup.EitherScheme)
            .AddPolicyScheme(AccessSetup.EitherScheme, null, options =>
                options.ForwardDefaultSelector = context => context.IsApi() && !IsOfPage(context) ? AccessSetup.TokenScheme : IdentityConstants.ApplicationScheme)
            .AddScheme<AuthenticationSchemeOptions, TokenHandler>(AccessSetup.TokenScheme, null)
            .AddCookie(IdentityConstants.ApplicationScheme, options =>
            {
                Keep(options, cookies, "school");
                options.LoginPath = "/people/sign-in";
                options.AccessDeniedPath = "/people/not-allowed";
                options.LogoutPath = "/people/sign-out";
                options.ReturnUrlParameter = "next";
                // The session's own end decides, which never comes later (V7.3).
                options.ExpireTimeSpan = OpenSession.Longest.ToTimeSpan();
                options.SlidingExpiration = false;
                options.Events.OnValidatePrincipal = context => context.HttpContext.RequestServices.GetRequiredService<PageSignIn>().ValidateAsync(context);
                options.Events.OnSigningIn = PageSignIn.LimitAsync;
                options.Events.OnRedirectToLogin = context => context.HttpContext.IsApi() ? context.HttpContext.ChallengeAsync(AccessSetup.TokenScheme) : LeadAsync(context);
                // The page leads on itself, to addresses of this service alone.
                options.Events.OnRedirectToReturnUrl = _ => Task.CompletedTask;
                options.Events.OnRedirectToAccessDenied = context => context.HttpContext.IsApi() ? context.HttpContext.ForbidAsync(AccessSetup.TokenScheme) : LeadAsync(context);
            })
            .AddCookie(IdentityConstants.TwoFactorUserIdScheme, options =>
            {
                Keep(options, cookies, "school-step");
                options.ExpireTimeSpan = TimeSpan.FromMinutes(5);
                options.SlidingExpiration = false;
            });
        services.AddSingleton<IAuthorizationMiddlewareResultHandler, RefusedPermissions>();
        services.AddSingleton<StaffSecondStep>();
        services.AddSingleton<KnownDevices>();
        services.AddScoped<SignInEvents>();
        services.AddScoped<NoteWrongTries>();
        services.AddSingleton<SessionQuery>();
        services.AddScoped<Sessions>();
        services.AddScoped<OpenSession>();
        services.AddScoped<EndSession>();
        services.AddScoped<EndOtherSessions>();
        services.AddScoped<CheckPassword>();
        services.AddScoped<CheckPresentPassword>();
        services.AddScoped<CheckSecondStep>();
        services.AddScoped<PageSignIn>();
        services.AddScoped<LateForms>();
        return services;
    }

    /// <summary>What a page reads by itself comes with the page's cookie.</summary>
    private static bool IsOfPage(HttpContext context) =>
        context.GetEndpoint()?.Metadata.GetMetadata<TakesCookie>() is not null && context.Request.Headers.Authorization.Count == 0;

    private static void Keep(CookieAuthenticationOptions options, CookieRules cookies, string name)
    {
        options.Cookie.Name = cookies.Name(name);
        options.Cookie.SecurePolicy = cookies.Policy;
        options.Cookie.SameSite = SameSiteMode.Lax;
    }

    /// <summary>Leads on within this service, without the host that the request named.</summary>
    private static Task LeadAsync(RedirectContext<CookieAuthenticationOptions> context)
    {
        context.Response.Redirect(new Uri(context.RedirectUri).PathAndQuery);
        return Task.CompletedTask;
    }
}
