using System.Globalization;
using School.Core.Travel;

namespace School.Core.Diary;

/// <summary>Links that open a map at a place.</summary>
public static class MapLinks
{
    /// <summary>The most characters of a pattern.</summary>
    public const int Longest = 300;

    private const string Latitude = "{latitude}";
    private const string Longitude = "{longitude}";

    /// <summary>The link for a place.</summary>
    /// <param name="pattern">As <see cref="DiaryRules.MapLink"/> has it.</param>
    /// <param name="at">Where; told to six places, a tenth of a metre.</param>
    public static string Of(string pattern, Coordinates at)
    {
        ArgumentNullException.ThrowIfNull(pattern);
        var (latitude, longitude) = (Number(at.Latitude), Number(at.Longitude));
        return pattern.Length == 0
            ? $"geo:{latitude},{longitude}"
            : pattern.Replace(Latitude, latitude, StringComparison.Ordinal).Replace(Longitude, longitude, StringComparison.Ordinal);
    }

    /// <summary>What is wrong with a pattern; null when nothing is. Only <c>https</c> will do, since pages link to it.</summary>
    public static string? Fault(string? pattern)
    {
        if (string.IsNullOrEmpty(pattern))
        {
            return null;
        }

        if (pattern.Length > Longest)
        {
            return $"The map link may have at most {Longest} characters.";
        }

        if (!pattern.Contains(Latitude, StringComparison.Ordinal) || !pattern.Contains(Longitude, StringComparison.Ordinal))
        {
            return "The map link must say {latitude} and {longitude} where the place belongs.";
        }

        var link = Of(pattern, new(0, 0));
        return !link.Any(char.IsWhiteSpace) && Uri.TryCreate(link, UriKind.Absolute, out var address) && address.Scheme == Uri.UriSchemeHttps
                && address.Host.Length > 0 && address.UserInfo.Length == 0 && !link.Contains('{', StringComparison.Ordinal) && !link.Contains('}', StringComparison.Ordinal)
            ? null
            : "The map link must be an address that begins with https://, with nothing in braces but {latitude} and {longitude}.";
    }

    private static string Number(double value) => (Math.Round(value, 6) + 0.0).ToString("0.######", CultureInfo.InvariantCulture);
}
