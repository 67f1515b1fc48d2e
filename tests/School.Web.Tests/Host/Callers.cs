using School.Web.Modules.People;

namespace School.Web.Tests.Host;

/// <summary>Who calls from where, with which browser, and what cookies they hold.</summary>
internal static class Callers
{
    /// <summary>From another network address from now on, as a trusted proxy would tell it.</summary>
    public static HttpClient From(this HttpClient client, string address)
    {
        client.DefaultRequestHeaders.Remove("X-Forwarded-For");
        client.DefaultRequestHeaders.Add("X-Forwarded-For", address);
        return client;
    }

    public static HttpClient With(this HttpClient client, string userAgent)
    {
        client.DefaultRequestHeaders.Remove("User-Agent");
        client.DefaultRequestHeaders.TryAddWithoutValidation("User-Agent", userAgent);
        return client;
    }

    public static Task<HttpResponseMessage> SignInAsync(this HttpClient browser, Person person, string password = SchoolHost.Password) =>
        browser.PostFormAsync("/people/sign-in", ("Input.Email", person.Email!), ("Input.Password", password));

    /// <summary>The cookies that an answer sets, as a thief would send them from another browser.</summary>
    public static string CookiesOf(this HttpResponseMessage answer) =>
        string.Join("; ", answer.Headers.TryGetValues("Set-Cookie", out var set) ? set.Select(cookie => cookie.Split(';')[0]) : []);

    public static HttpClient Holding(this HttpClient client, string cookies)
    {
        client.DefaultRequestHeaders.Add("Cookie", cookies);
        return client;
    }
}
