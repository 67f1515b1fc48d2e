using System.Net;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Keys;

/// <summary>A sign-in cookie by itself, as somebody carries it to another node.</summary>
internal static class CookieOf
{
    /// <summary>The cookie of somebody who has just signed in there.</summary>
    public static async Task<string> SignedInAsync(SchoolHost host, Person person)
    {
        using var browser = host.Browser();
        var answer = await browser.PostFormAsync("/people/sign-in", ("Input.Email", person.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        return answer.Headers.GetValues("Set-Cookie").Single(c => c.StartsWith("__Host-school=", StringComparison.Ordinal)).Split(';')[0];
    }

    public static async Task<HttpResponseMessage> AskAsync(SchoolHost host, string page, string cookie)
    {
        using var client = host.Anonymous();
        using var request = new HttpRequestMessage(HttpMethod.Get, page);
        request.Headers.Add("Cookie", cookie);
        return await client.SendAsync(request);
    }
}
