using System.Security.Cryptography;
using School.Web.Platform.Layout.Map;

namespace School.Web.Platform.Security;

/// <summary>The same strict headers on every answer, also on errors.</summary>
internal static class SecurityHeaders
{
    private const string NonceKey = "csp-nonce";

    /// <summary>A year (OWASP ASVS 5.0 V3.4.1). Not for names below this one: what else the school runs there is not ours to say.</summary>
    private const string OnlyHttps = "max-age=31536000";

    public static string Nonce(HttpContext context) => (string)context.Items[NonceKey]!;

    public static IApplicationBuilder UseSecurityHeaders(this IApplicationBuilder app) => app.Use((context, next) =>
    {
        var nonce = Convert.ToBase64String(RandomNumberGenerator.GetBytes(18));
        context.Items[NonceKey] = nonce;
        context.Response.OnStarting(() =>
        {
            var headers = context.Response.Headers;
            var tiles = PlaceMap.TilesOf(context) is { } map ? " " + map.Origin : "";
            headers.ContentSecurityPolicy =
                $"default-src 'none'; script-src 'self' 'nonce-{nonce}'; style-src 'self' 'nonce-{nonce}'; img-src 'self' data:{tiles}; font-src 'self'; "
                + "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";
            headers.XContentTypeOptions = "nosniff";
            headers["Referrer-Policy"] = "same-origin";
            headers["Cross-Origin-Opener-Policy"] = "same-origin";
            headers["Cross-Origin-Resource-Policy"] = "same-origin";
            headers["Permissions-Policy"] = "camera=(), microphone=(), payment=(), usb=(), geolocation=(self)";
            headers.XFrameOptions = "DENY";
            if (context.Request.IsHttps && !KnownHosts.IsThisMachine(context.Request.Host))
            {
                headers.StrictTransportSecurity = OnlyHttps;
            }

            if (context.Response.Headers.CacheControl.Count == 0)
            {
                // Personal pages never rest in a cache; what may rest says so itself.
                headers.CacheControl = "no-store";
            }

            return Task.CompletedTask;
        });
        return next(context);
    });
}
