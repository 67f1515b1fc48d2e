using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Identity.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>ASP.NET Core Identity with the defaults that must not stay (sources beside each; OWASP ASVS 5.0 numbers).</summary>
internal static class SignInSetup
{
    public static IServiceCollection AddSignIn(this IServiceCollection services, IConfiguration configuration)
    {
        // Plain HTTP is for the loopback demo only.
        var secure = configuration.GetValue("School:PlainHttp", false) ? CookieSecurePolicy.SameAsRequest : CookieSecurePolicy.Always;
        services.AddIdentityCore<Person>(options =>
            {
                options.Stores.SchemaVersion = IdentitySchemaVersions.Version3;
                options.User.RequireUniqueEmail = true;
                options.Password.RequiredLength = 12; // V6.2.1
                options.Password.RequireDigit = false; // V6.2.5: no composition rules
                options.Password.RequireLowercase = false;
                options.Password.RequireUppercase = false;
                options.Password.RequireNonAlphanumeric = false;
            })
            .AddUserStore<UserOnlyStore<Person, SchoolDb, Guid>>()
            .AddClaimsPrincipalFactory<PersonClaims>()
            .AddSignInManager()
            .AddDefaultTokenProviders();
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
            options.ExpireTimeSpan = TimeSpan.FromDays(14);
        });
        services.AddScoped<ApiTokens>();
        return services;
    }
}
