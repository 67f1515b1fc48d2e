using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text.Json;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>The API of a school that listens, for what a walk needs to be there already.</summary>
internal static class Api
{
    public static async Task<HttpClient> OfListeningAsync(SchoolHost host, Person person)
    {
        var api = new HttpClient { BaseAddress = new(host.Url) };
        using var answer = await api.PostAsJsonAsync("/api/v1/tokens", new { email = person.Email, password = SchoolHost.Password });
        answer.EnsureSuccessStatusCode();
        var token = (await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("token").GetString();
        api.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        return api;
    }
}
