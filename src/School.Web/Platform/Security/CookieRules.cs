using Microsoft.AspNetCore.Mvc;

namespace School.Web.Platform.Security;

/// <summary>
/// Every cookie is Secure and named __Host-, so that no neighbour of the domain can set or read it (OWASP ASVS 5.0 V3.3.1, V3.3.3;
/// RFC 6265bis section 4.1.3.2). The setting <c>School:PlainHttp</c> is for the loopback only.
/// </summary>
internal sealed record CookieRules(bool Https)
{
    public CookieSecurePolicy Policy => Https ? CookieSecurePolicy.Always : CookieSecurePolicy.SameAsRequest;

    public static CookieRules Read(IConfiguration configuration) => new(!configuration.GetValue("School:PlainHttp", false));

    public string Name(string name) => Https ? $"__Host-{name}" : name;

    /// <summary>The cookies of the framework's own; those of signing in are beside it.</summary>
    public IServiceCollection AddTo(IServiceCollection services) => services
        .AddAntiforgery(options =>
        {
            options.Cookie.Name = Name("school-form");
            options.Cookie.SameSite = SameSiteMode.Strict;
            options.Cookie.Path = "/";
        })
        .Configure<CookieTempDataProviderOptions>(options =>
        {
            options.Cookie.Name = Name("school-said");
            options.Cookie.Path = "/";
        });

    /// <summary>For each cookie that whatever part of the service sets, also where a proxy forgets to say that it speaks https.</summary>
    public void Use(IApplicationBuilder app) => app.UseCookiePolicy(new CookiePolicyOptions { Secure = Policy });
}
