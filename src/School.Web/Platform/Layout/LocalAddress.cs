using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Mvc;

namespace School.Web.Platform.Layout;

/// <summary>An address of this service that somebody sent along, as a redirect can hold it: a header has no letters but those of ASCII (RFC 9110, 5.5).</summary>
internal static partial class LocalAddress
{
    public static string LocalOr(this IUrlHelper url, string? asked, string otherwise) =>
        url.IsLocalUrl(asked) ? Others().Replace(asked!, letters => Uri.EscapeDataString(letters.Value)) : otherwise;

    [GeneratedRegex(@"[^\x00-\x7F]+")]
    private static partial Regex Others();
}
