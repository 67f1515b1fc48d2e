using System.Globalization;

namespace School.Web.Platform.Layout.Map;

/// <summary>
/// Where the pictures of a map come from: the settings <c>Map:Tiles</c>, <c>Map:Attribution</c> and <c>Map:MaxZoom</c>. Without the
/// first a map is a plain ground with the places that the school knows.
/// </summary>
/// <param name="Address">With {z}, {x} and {y} where zoom, column and row go.</param>
/// <param name="Origin">What the content security policy must let pictures come from.</param>
/// <param name="Attribution">What the source wants to be said under the map; plain text.</param>
/// <param name="MaxZoom">The closest the source goes.</param>
internal sealed record MapTiles(string Address, string Origin, string Attribution, int MaxZoom)
{
    private const int UsualMaxZoom = 19;
    private const int LargestMaxZoom = 22;
    private static readonly string[] Parts = ["{z}", "{x}", "{y}"];

    public static MapTiles? Read(IConfiguration configuration)
    {
        if (configuration["Map:Tiles"]?.Trim() is not { Length: > 0 } address)
        {
            return null;
        }

        return OriginOf(address) is { } origin
            ? new(address, origin, configuration["Map:Attribution"]?.Trim() ?? "", ReadMaxZoom(configuration["Map:MaxZoom"]))
            : throw new InvalidOperationException(
                $"Map:Tiles is \"{address}\"; it must be a whole http or https address with {{z}}, {{x}} and {{y}} in its path or query and no other braces, "
                + "such as https://tiles.example/{z}/{x}/{y}.png.");
    }

    private static string? OriginOf(string address)
    {
        var filled = Parts.Aggregate(address, (text, part) => text.Replace(part, "0", StringComparison.Ordinal));
        var authorityEnds = address.IndexOf('/', Math.Min(address.Length, address.IndexOf("//", StringComparison.Ordinal) + 2));
        return Uri.TryCreate(filled, UriKind.Absolute, out var uri)
            && uri is { Scheme: "http" or "https", HostNameType: UriHostNameType.Dns or UriHostNameType.IPv4, UserInfo: "", Fragment: "" }
            && !filled.AsSpan().ContainsAny('{', '}')
            && authorityEnds > 0
            && Parts.All(part => address.IndexOf(part, StringComparison.Ordinal) > authorityEnds)
            ? $"{uri.Scheme}://{uri.IdnHost}{(uri.IsDefaultPort ? "" : string.Create(CultureInfo.InvariantCulture, $":{uri.Port}"))}"
            : null;
    }

    private static int ReadMaxZoom(string? text) =>
        string.IsNullOrWhiteSpace(text) ? UsualMaxZoom
        : int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var zoom) && zoom is >= 1 and <= LargestMaxZoom ? zoom
        : throw new InvalidOperationException($"Map:MaxZoom is \"{text}\"; it must be a whole number from 1 to {LargestMaxZoom}.");
}
