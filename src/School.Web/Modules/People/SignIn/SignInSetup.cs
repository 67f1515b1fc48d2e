using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Identity;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>ASP.NET Core Identity with the defaults that must not stay (sources beside each; OWASP ASVS 5.0 numbers).</summary>
internal static class SignInSetup
{
    private static readonly TimeSpan Longest = TimeSpan.FromDays(14);
    private static readonly TimeSpan LongestForStaff = TimeSpan.FromDays(1);

    public static IServiceCollection AddSignIn(this IServiceCollection services, IConfiguration configuration)
    {
        // Plain HTTP is for the loopback demo only.
        var secure = configuration.GetValue("School:PlainHttp", false) ? CookieSecurePolicy.SameAsRequest : CookieSecurePolicy.Always;
        services.AddSingleton<TimeProvider, ClockTime>();
        services.AddIdentityCore<Person>(options =>
            {
                options.Tokens.PasswordResetTokenProvider = LinkTokens.Provider;
                options.User.AllowedUserNameCharacters = ""; // an e-mail address may hold an apostrophe
                options.Stores.SchemaVersion = IdentitySchemaVersions.Version3;
                options.User.RequireUniqueEmail = true;
                options.Password.RequiredLength = 12; // V6.2.1
                options.Password.RequireDigit = false; // V6.2.5: no composition rules
                options.Password.RequireLowercase = false;
                options.Password.RequireUppercase = false;
                options.Password.RequireNonAlphanumeric = false;
            })
            .AddUserStore<PersonStore>()
            .AddClaimsPrincipalFactory<PersonClaims>()
            .AddErrorDescriber<SignInSentences>()
            .AddSignInManager()
            .AddPasswordValidator<GuessablePasswords>()
            .AddTokenProvider<LinkTokens>(LinkTokens.Provider)
            .AddTokenProvider<TotpProvider>(TokenOptions.DefaultAuthenticatorProvider);
        services.Configure<PasswordHasherOptions>(options => options.IterationCount = configuration.GetValue("School:PasswordIterations", 210_000)); // V11.4.2
        services.Configure<SecurityStampValidatorOptions>(options => options.ValidationInterval = TimeSpan.FromMinutes(1)); // V7.4
        services.AddAuthentication(AccessSetup.EitherScheme)
            .AddPolicyScheme(AccessSetup.EitherScheme, null, options =>
                options.ForwardDefaultSelector = context => context.IsApi() ? AccessSetup.TokenScheme : IdentityConstants.ApplicationScheme)
            .AddScheme<AuthenticationSchemeOptions, TokenHandler>(AccessSetup.TokenScheme, null)
            .AddIdentityCookies();
        services.ConfigureApplicationCookie(options =>
        {
            options.Cookie.Name = secure == CookieSecurePolicy.Always ? "__Host-school" : "school";
            options.Cookie.SecurePolicy = secure;
            options.Cookie.SameSite = SameSiteMode.Lax;
            options.LoginPath = "/people/sign-in";
            options.AccessDeniedPath = "/people/not-allowed";
            options.LogoutPath = "/people/sign-out";
            options.ReturnUrlParameter = "next";
            options.ExpireTimeSpan = Longest; // an absolute limit (V7.3): using the pages does not put it off
            options.SlidingExpiration = false;
            options.Cookie.MaxAge = Longest;
            options.Events.OnValidatePrincipal = async context =>
            {
                await SecurityStampValidator.ValidatePrincipalAsync(context);
                // Read to know who asks; what is to be changed is read again by what changes it.
                context.HttpContext.RequestServices.GetRequiredService<SchoolDb>().ChangeTracker.Clear();
            };
            options.Events.OnSigningIn = context =>
            {
                LimitStaff(context);
                return Task.CompletedTask;
            };
        });
        services.Configure<CookieAuthenticationOptions>(IdentityConstants.TwoFactorUserIdScheme, options =>
        {
            options.Cookie.Name = secure == CookieSecurePolicy.Always ? "__Host-school-step" : "school-step";
            options.Cookie.SecurePolicy = secure;
            options.Cookie.SameSite = SameSiteMode.Lax;
        });
        services.AddSingleton<StaffSecondStep>();
        services.AddScoped<CheckPassword>();
        services.AddScoped<CheckSecondStep>();
        services.AddScoped<PageSignIn>();
        services.AddScoped<ApiTokens>();
        return services;
    }

    private static void LimitStaff(CookieSigningInContext context)
    {
        if (Viewer.From(context.Principal!) is { IsStaff: true })
        {
#pragma warning disable RS0030 // The framework keeps these as wall-clock values.
            context.Properties.ExpiresUtc = context.Properties.IssuedUtc + LongestForStaff;
#pragma warning restore RS0030
        }
    }
}
