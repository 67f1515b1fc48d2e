using Microsoft.AspNetCore.Mvc.ViewFeatures;
using Microsoft.AspNetCore.WebUtilities;

namespace School.Web.Platform.Security;

/// <summary>
/// Styles, scripts and icons. An address that carries the hash of the present content may be kept for ever (RFC 8246); any other is
/// asked for again each time, also one with the hash of another version, which a node of before or after an upgrade may answer.
/// </summary>
/// <remarks>
/// Not the framework's mapped assets: those put the hash into the path, and what the service worker keeps goes by path, so that it can
/// tell an older copy of a file from another file.
/// </remarks>
internal static class Assets
{
    public const string Forever = "public, max-age=31536000, immutable";
    public const string AskAgain = "no-cache";

    public static void UseAssets(this WebApplication app)
    {
        var versions = app.Services.GetRequiredService<IFileVersionProvider>();
        app.UseStaticFiles(new StaticFileOptions
        {
            OnPrepareResponse = file => file.Context.Response.Headers.CacheControl = IsPresent(file.Context.Request, versions) ? Forever : AskAgain,
        });
    }

    private static bool IsPresent(HttpRequest request, IFileVersionProvider versions)
    {
        var path = request.Path.Value!;
        return request.Query["v"] is [{ } named] && QueryHelpers.AddQueryString(path, "v", named) == versions.AddFileVersionToPath(request.PathBase, path);
    }
}
