using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary;

/// <summary>Short ways to ask the diary's API, for tests that are about the answers.</summary>
internal static class DiaryApi
{
    /// <summary>A local time in London that comes once.</summary>
    public static Instant London(int year, int month, int day, int hour, int minute = 0) =>
        SchoolHost.London.AtStrictly(new LocalDateTime(year, month, day, hour, minute)).ToInstant();

    public static Task<HttpResponseMessage> BookAsync(
        this HttpClient api, Guid pupil, Guid instructor, Instant start, int minutes = 60, string? key = null) =>
        api.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new { pupilId = pupil, instructorId = instructor, start = Text(start), minutes }, key);

    public static async Task<JsonElement> BookedAsync(this HttpClient api, Guid pupil, Guid instructor, Instant start, int minutes = 60) =>
        await (await api.BookAsync(pupil, instructor, start, minutes)).JsonAsync(HttpStatusCode.Created);

    public static Task<HttpResponseMessage> MoveAsync(this HttpClient api, Guid lesson, Instant start, Guid? instructor = null, string? etag = null) =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{lesson}/move", new { start = Text(start), instructorId = instructor }, etag: etag);

    public static Task<HttpResponseMessage> CancelAsync(this HttpClient api, Guid lesson, string reason = "pupil", string? etag = null) =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{lesson}/cancel", new { reason }, etag: etag);

    public static Task<HttpResponseMessage> RecordAsync(this HttpClient api, Guid lesson, int minutesTaught, string note, string? etag = "*") =>
        api.SendJsonAsync(HttpMethod.Put, $"/api/v1/lessons/{lesson}/record", new { minutesTaught, note }, etag: etag);

    public static async Task<HttpResponseMessage> SendJsonAsync(
        this HttpClient api, HttpMethod method, string path, object? body = null, string? key = null, string? etag = null)
    {
        using var request = new HttpRequestMessage(method, path) { Content = body is null ? null : JsonContent.Create(body) };
        if (key is not null)
        {
            request.Headers.Add("Idempotency-Key", key);
        }

        if (etag is not null)
        {
            request.Headers.TryAddWithoutValidation("If-Match", etag);
        }

        return await api.SendAsync(request);
    }

    /// <summary>The body, after making sure of the status.</summary>
    public static async Task<JsonElement> JsonAsync(this HttpResponseMessage answer, HttpStatusCode expected = HttpStatusCode.OK)
    {
        var text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.StatusCode == expected, $"{(int)answer.StatusCode} instead of {(int)expected}: {text}");
        return JsonDocument.Parse(text).RootElement;
    }

    public static async Task<JsonElement> GetJsonAsync(this HttpClient api, string path) => await (await api.GetAsync(path)).JsonAsync();

    /// <summary>The problem's code, after making sure of the status.</summary>
    public static async Task<string> CodeAsync(this HttpResponseMessage answer, HttpStatusCode expected) =>
        (await answer.JsonAsync(expected)).GetProperty("code").GetString()!;

    public static string Text(Instant moment) => InstantPattern.General.Format(moment);

    public static string Text(LocalDate date) => date.ToString("uuuu-MM-dd", CultureInfo.InvariantCulture);

    public static Instant Moment(this JsonElement value, string member) => InstantPattern.General.Parse(value.GetProperty(member).GetString()!).Value;

    public static Guid Id(this JsonElement value, string member = "id") => value.GetProperty(member).GetGuid();

    public static string? Word(this JsonElement value, string member) => value.GetProperty(member).GetString();
}
