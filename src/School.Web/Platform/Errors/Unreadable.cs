using System.Text.Json;

namespace School.Web.Platform.Errors;

/// <summary>Explains a request that could not be read.</summary>
internal static class Unreadable
{
    public static readonly Refusal TooLarge = new(RefusalKind.TooLarge, "too_large", "That is more than this takes at once. Send 1 MiB at the most.");

    public static Refusal Explain(BadHttpRequestException exception)
    {
        if (exception.StatusCode == StatusCodes.Status413PayloadTooLarge)
        {
            return TooLarge;
        }

        if (exception.InnerException is not JsonException json)
        {
            return Refusal.Invalid("request", exception.Message);
        }

        var path = json.Path?.TrimStart('$').TrimStart('.');
        return Refusal.Invalid(string.IsNullOrEmpty(path) ? "body" : path, Sentence(json));
    }

    private static string Sentence(JsonException json)
    {
        var message = json.Message.Split(" Path:")[0];
        return message switch
        {
            _ when message.StartsWith("Give ", StringComparison.Ordinal) => message,
            _ when message.Contains("could not be mapped", StringComparison.Ordinal) => "There is no such member here. Look at the API reference at /api.",
            _ when message.Contains("missing required", StringComparison.Ordinal) => $"Something is missing: {message[(message.LastIndexOf(':') + 1)..].Trim()}",
            _ => "This value cannot be read. Look at its form in the API reference at /api.",
        };
    }
}
