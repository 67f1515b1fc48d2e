using System.Net;
using System.Text.Json;
using NodaTime;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.TestDays;

/// <summary>Short ways to ask about test days.</summary>
internal static class TestDayApi
{
    public const string Path = "/api/v1/test-days";

    public static readonly object Northgate = new { label = "Northgate", address = "1 Northgate, Larkfield", postcode = "", latitude = 52.41, longitude = -1.19 };

    /// <summary>A body with the usual members; anything else comes in <paramref name="also"/> and wins.</summary>
    public static Dictionary<string, object?> Body(Guid pupil, Instant start, params (string Name, object? Value)[] also)
    {
        var body = new Dictionary<string, object?>
        {
            ["pupilId"] = pupil,
            ["start"] = DiaryApi.Text(start),
            ["centre"] = Northgate,
            ["nation"] = "england-and-wales",
        };
        foreach (var (name, value) in also)
        {
            body[name] = value;
        }

        return body;
    }

    public static Task<HttpResponseMessage> EnterAsync(this HttpClient api, Guid pupil, Instant start, params (string Name, object? Value)[] also) =>
        api.SendJsonAsync(HttpMethod.Post, Path, Body(pupil, start, also));

    public static async Task<JsonElement> EnteredAsync(this HttpClient api, Guid pupil, Instant start, params (string Name, object? Value)[] also) =>
        await (await api.EnterAsync(pupil, start, also)).JsonAsync(HttpStatusCode.Created);

    public static Task<HttpResponseMessage> ChangeAsync(this HttpClient api, Guid id, Guid pupil, Instant start, params (string Name, object? Value)[] also) =>
        api.SendJsonAsync(HttpMethod.Put, $"{Path}/{id}", Body(pupil, start, also), etag: "*");

    public static Task<HttpResponseMessage> ResultAsync(
        this HttpClient api, Guid id, bool passed, int driving, int serious = 0, int dangerous = 0, object? faults = null, bool againstRule = false, string? note = null) =>
        api.SendJsonAsync(
            HttpMethod.Put, $"{Path}/{id}/result", new { passed, driving, serious, dangerous, faults, againstRule, note, etaVerbal = 1 }, etag: "*");

    public static IEnumerable<string> Warnings(this JsonElement test) => test.GetProperty("warnings").EnumerateArray().Select(w => w.Word("code")!);
}
