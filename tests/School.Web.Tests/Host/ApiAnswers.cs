using System.Net;
using System.Net.Http.Json;
using System.Text.Json;

namespace School.Web.Tests.Host;

/// <summary>Short ways to ask the API and to read what it answers.</summary>
internal static class ApiAnswers
{
    public static async Task<JsonElement> JsonAsync(this HttpResponseMessage answer) =>
        JsonSerializer.Deserialize<JsonElement>(await answer.Content.ReadAsStringAsync());

    public static async Task<string?> CodeAsync(this HttpResponseMessage answer) =>
        (await answer.JsonAsync()).TryGetProperty("code", out var code) ? code.GetString() : null;

    /// <summary>Names of the fields that a 400 speaks of.</summary>
    public static async Task<string[]> WrongFieldsAsync(this HttpResponseMessage answer)
    {
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        return [.. (await answer.JsonAsync()).GetProperty("errors").EnumerateObject().Select(e => e.Name).Order(StringComparer.Ordinal)];
    }

    /// <summary>Sends a body with headers such as If-Match and Idempotency-Key.</summary>
    public static Task<HttpResponseMessage> SendAsync(this HttpClient api, HttpMethod method, string url, object? body, params (string Name, string Value)[] headers)
    {
        var request = new HttpRequestMessage(method, url) { Content = body is null ? null : JsonContent.Create(body) };
        foreach (var (name, value) in headers)
        {
            request.Headers.TryAddWithoutValidation(name, value);
        }

        return api.SendAsync(request);
    }
}
