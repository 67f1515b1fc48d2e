using System.Globalization;

namespace School.Core.Travel;

/// <summary>Reads a place pasted as text: a <c>geo:</c> address or two decimal numbers, latitude first.</summary>
/// <remarks>
/// <c>geo:</c> follows RFC 5870: <c>geo:lat,lon[,alt][;crs=wgs84][;u=metres][;…]</c>; only WGS 84 is understood; altitude,
/// uncertainty and unknown parameters are ignored. Numbers use a full stop whatever the reader's language.
/// </remarks>
public static class CoordinatesText
{
    /// <summary>Most characters that are read, spaces and all.</summary>
    public const int LongestTyped = 200;

    private const string Scheme = "geo:";

    private const NumberStyles Decimal = NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint;

    /// <summary>Reads the text.</summary>
    /// <param name="text">For example <c>geo:51.5014,-0.1419;u=35</c> or <c>51.5014, -0.1419</c>.</param>
    /// <param name="latitude">Degrees north, −90 to 90; 0 when refused.</param>
    /// <param name="longitude">Degrees east, −180 to 180; 0 when refused, and at the poles (RFC 5870 section 3.4.2).</param>
    /// <param name="problem">A sentence saying what is wrong; empty when accepted.</param>
    public static bool TryParse(string? text, out double latitude, out double longitude, out string problem)
    {
        (latitude, longitude) = (0, 0);
        var place = (text ?? "").Trim();
        var isGeo = place.StartsWith(Scheme, StringComparison.OrdinalIgnoreCase);
        var parts = (isGeo ? place[Scheme.Length..] : place).Split(';');

        problem = isGeo ? ParameterProblem(parts.AsSpan(1)) : parts.Length > 1 ? Expected : "";
        if (problem.Length > 0)
        {
            return false;
        }

        var numbers = parts[0].Split(',', StringSplitOptions.TrimEntries);
        if (place.Length > LongestTyped || numbers.Length < 2 || numbers.Length > (isGeo ? 3 : 2))
        {
            problem = Expected;
            return false;
        }

        if (!Read(numbers[0], "latitude", 90, out var north, out problem)
            || !Read(numbers[1], "longitude", 180, out var east, out problem)
            || (numbers.Length == 3 && !Read(numbers[2], "altitude", double.MaxValue, out _, out problem)))
        {
            return false;
        }

        (latitude, longitude) = (north, Math.Abs(north) == 90 ? 0 : east);
        return true;
    }

    private const string Expected = "Enter latitude and longitude with a comma between, such as 51.5014, -0.1419, or a geo: address.";

    private static string ParameterProblem(ReadOnlySpan<string> parameters)
    {
        foreach (var parameter in parameters)
        {
            var (name, value) = parameter.Split('=', 2) is [var n, var v] ? (n, v) : (parameter, "");
            if (name.Equals("crs", StringComparison.OrdinalIgnoreCase) && !value.Equals("wgs84", StringComparison.OrdinalIgnoreCase))
            {
                return $"The coordinate system “{value}” is not supported. Use WGS 84, as satellite navigation does.";
            }
        }

        return "";
    }

    private static bool Read(string text, string name, double limit, out double value, out string problem)
    {
        if (!double.TryParse(text, Decimal, CultureInfo.InvariantCulture, out value) || !double.IsFinite(value))
        {
            problem = $"The {name} “{text}” is not a decimal number.";
            return false;
        }

        problem = Math.Abs(value) <= limit
            ? ""
            : string.Create(CultureInfo.InvariantCulture, $"The {name} {text} is out of range: it lies between -{limit} and {limit}.");
        return problem.Length == 0;
    }
}
