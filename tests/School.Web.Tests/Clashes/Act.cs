using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;
using School.Web.Tests.Host;

namespace School.Web.Tests.Clashes;

/// <summary>What came back, in words that two runs can be compared by.</summary>
internal sealed record Answer(bool Done, string Words);

/// <summary>One thing to be done once, ready to go.</summary>
/// <param name="RunAsync">Does it, with an Idempotency-Key where one is given.</param>
/// <param name="TakesKey">Whether it may have one.</param>
internal sealed record Act(Func<string?, Task<Answer>> RunAsync, bool TakesKey)
{
    /// <summary>A request to the API, which takes a key as every write there does.</summary>
    public static Act Api(HttpClient api, HttpMethod method, string url, object? body = null, string? etag = "*", bool takesKey = true) => new(
        async key =>
        {
            using var request = new HttpRequestMessage(method, url) { Content = body is null ? null : JsonContent.Create(body) };
            if (key is not null)
            {
                request.Headers.Add(Idempotency.Header, key);
            }

            if (etag is not null)
            {
                request.Headers.TryAddWithoutValidation("If-Match", etag);
            }

            using var answer = await api.SendAsync(request);
            return await ReadAsync(answer);
        },
        takesKey);

    /// <summary>Sends back what was read there with one number one more, or one less, by turns.</summary>
    public static async Task<Act> ChangeNumberAsync(World world, string url, string member)
    {
        var body = JsonNode.Parse(await world.Office.GetStringAsync(url))!;
        body[member] = (int)body[member]! + (world.Next() % 2 == 0 ? 1 : -1);
        return Api(world.Office, HttpMethod.Put, url, body);
    }

    /// <summary>A form of a page, read before anything fails.</summary>
    public static async Task<Act> PageAsync(HttpClient browser, string page, string to, params (string Name, string Value)[] fields)
    {
        var token = await browser.FormTokenAsync(page);
        return new(
            async _ =>
            {
                using var answer = await browser.PostAsync(to, new FormUrlEncodedContent(
                    [.. fields.Select(f => KeyValuePair.Create(f.Name, f.Value)), KeyValuePair.Create("__RequestVerificationToken", token)]));
                return await ReadAsync(answer);
            },
            TakesKey: false);
    }

    /// <summary>The verb itself, in a scope of its own, where no request calls it alone.</summary>
    public static Act Verb<TVerb, T>(SchoolHost host, Func<TVerb, Task<Outcome<T>>> run)
        where TVerb : notnull
        where T : notnull => new(
        async _ =>
        {
            await using var scope = host.Services.CreateAsyncScope();
            var outcome = await run(scope.ServiceProvider.GetRequiredService<TVerb>());
            return new(outcome.Ok, outcome.Ok ? "done" : outcome.Refusal.Code);
        },
        TakesKey: false);

    /// <summary>A job, as the server of jobs runs it.</summary>
    public static Act Job<TJob>(SchoolHost host, Func<TJob, Task> run)
        where TJob : notnull => new(
        async _ =>
        {
            await using var scope = host.Services.CreateAsyncScope();
            await run(scope.ServiceProvider.GetRequiredService<TJob>());
            return new(true, "done");
        },
        TakesKey: false);

    /// <summary>The same at another time.</summary>
    public static Act At(World world, Instant now, Act act) => act with
    {
        RunAsync = async key =>
        {
            var before = world.Host.Clock.GetCurrentInstant();
            world.Host.Clock.Reset(now);
            try
            {
                return await act.RunAsync(key);
            }
            finally
            {
                world.Host.Clock.Reset(before);
            }
        },
    };

    private static async Task<Answer> ReadAsync(HttpResponseMessage answer)
    {
        var text = await answer.Content.ReadAsStringAsync();
        var headers = answer.Headers.Select(h => h.Key == "Set-Cookie" ? string.Join(',', h.Value.Select(c => c.Split('=')[0]).Order(StringComparer.Ordinal)) : h.Key);
        var done = answer.IsSuccessStatusCode ? !text.Contains("class=\"problems\"", StringComparison.Ordinal) : answer.StatusCode == HttpStatusCode.Redirect;
        // A key is told again in no header of the first answer, so with and without it the same ones come.
        return new(done, $"{(int)answer.StatusCode} [{string.Join(' ', headers.Order(StringComparer.Ordinal))}]{(done ? "" : $" {text}")}");
    }
}
