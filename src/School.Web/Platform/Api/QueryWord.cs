using System.Diagnostics.CodeAnalysis;
using System.Text.Json;

namespace School.Web.Platform.Api;

/// <summary>One of an enum's words in a query string, spelled as in JSON; capitals do not matter, and a number is none of them.</summary>
internal readonly record struct QueryWord<T>(T Value) : IParsable<QueryWord<T>>
    where T : struct, Enum
{
    private static readonly Dictionary<string, T> Words = Enum.GetValues<T>().ToDictionary(value => QueryWord.Of(value), StringComparer.OrdinalIgnoreCase);

    public static QueryWord<T> Parse(string s, IFormatProvider? provider) =>
        TryParse(s, provider, out var result) ? result : throw new FormatException(QueryWord.FormOf(typeof(T)));

    public static bool TryParse([NotNullWhen(true)] string? s, IFormatProvider? provider, out QueryWord<T> result)
    {
        var known = Words.TryGetValue(s ?? "", out var value);
        result = new(value);
        return known;
    }
}

internal static class QueryWord
{
    private static readonly JsonSerializerOptions Options = Json.Configure(new());

    /// <summary>The enum whose words a type reads; null for any other type.</summary>
    public static Type? EnumOf(Type type) => type.IsGenericType && type.GetGenericTypeDefinition() == typeof(QueryWord<>) ? type.GetGenericArguments()[0] : null;

    public static IEnumerable<string> WordsOf(Type type) => Enum.GetValues(type).Cast<object>().Select(Of);

    public static string FormOf(Type type) => $"Give one of: {string.Join(", ", WordsOf(type))}.";

    public static string Of(object value) => JsonSerializer.SerializeToElement(value, value.GetType(), Options).GetString()!;
}
