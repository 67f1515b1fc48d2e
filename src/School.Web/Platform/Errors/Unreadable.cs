using System.Text.Json;
using System.Text.RegularExpressions;

namespace School.Web.Platform.Errors;

/// <summary>Explains a request that could not be read.</summary>
internal static partial class Unreadable
{
    private static readonly string[] Missing = ["This is missing."];
    private const string SeeReference = "Look at its form in the API reference at /api.";

    public static readonly Refusal TooLarge = new(RefusalKind.TooLarge, "too_large", "That is more than this takes at once. Send 1 MiB at the most.");

    public static Refusal Explain(BadHttpRequestException exception)
    {
        if (exception.StatusCode == StatusCodes.Status413PayloadTooLarge)
        {
            return TooLarge;
        }

        if (exception.InnerException is not JsonException json)
        {
            return OfParameter(exception.Message);
        }

        var missing = json.Message.Contains("missing required", StringComparison.Ordinal) ? Quoted().Matches(json.Message[json.Message.LastIndexOf(':')..]) : null;
        if (missing is { Count: > 0 })
        {
            return Refusal.Invalid(missing.ToDictionary(name => name.Groups[1].Value, _ => Missing));
        }

        var path = json.Path?.TrimStart('$').TrimStart('.');
        return Refusal.Invalid(string.IsNullOrEmpty(path) ? "body" : path, Sentence(json));
    }

    /// <summary>A part of the address or the body as a whole, from the framework's sentence about it.</summary>
    private static Refusal OfParameter(string message) =>
        Parameter().Match(message) is { Success: true } named
            ? Refusal.Invalid(named.Groups[1].Value, message.StartsWith("Required", StringComparison.Ordinal) ? "This is missing." : $"This value cannot be read. {SeeReference}")
            : Refusal.Invalid("body", "Send a JSON object as the body. Look at its form in the API reference at /api.");

    [GeneratedRegex("""parameter "[^"]*?(\w+)" (?:from|was not provided from (?:query|route|header))""")]
    private static partial Regex Parameter();

    [GeneratedRegex("'([^']+)'")]
    private static partial Regex Quoted();

    private static string Sentence(JsonException json)
    {
        var message = json.Message.Split(" Path:")[0];
        return message switch
        {
            _ when message.StartsWith("Give ", StringComparison.Ordinal) => message,
            _ when message.Contains("could not be mapped", StringComparison.Ordinal) => "There is no such member here. Look at the API reference at /api.",
            _ => $"This value cannot be read. {SeeReference}",
        };
    }
}
