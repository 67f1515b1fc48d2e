using System.Net;
using System.Net.Sockets;
using System.Text;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Api;

/// <summary>Answers that have no body, and requests that no page hears, on the server as it runs.</summary>
public sealed class AnswersWithoutBodyTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_connection_stays_open_after_an_answer_without_a_body_to_a_request_with_a_key()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var bearer = $"Bearer {await host.TokenAsync(await host.Data.OfficeAsync())}";
        using var api = new HttpClient { BaseAddress = new(host.Url) };
        api.DefaultRequestHeaders.Authorization = System.Net.Http.Headers.AuthenticationHeaderValue.Parse(bearer);
        using var added = await api.SendJsonAsync(HttpMethod.Post, "/api/v1/contacts", new { name = "Fern Oakley", phone = "01632 960123", kind = "parent" });
        var contact = (await added.JsonAsync(HttpStatusCode.Created)).Id();

        var url = new Uri(host.Url);
        using var socket = new TcpClient();
        await socket.ConnectAsync(url.Host, url.Port, TestContext.Current.CancellationToken);
        var stream = socket.GetStream();
        Assert.StartsWith("HTTP/1.1 204", await AskAsync(stream, $"DELETE /api/v1/contacts/{contact} HTTP/1.1\r\nHost: {url.Authority}\r\nAuthorization: {bearer}\r\nIdempotency-Key: {Guid.NewGuid()}\r\nIf-Match: *\r\n\r\n"), StringComparison.Ordinal);
        Assert.StartsWith("HTTP/1.1 200", await AskAsync(stream, $"GET /api/v1/me HTTP/1.1\r\nHost: {url.Authority}\r\nAuthorization: {bearer}\r\n\r\n"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("/api/v1/nothing", HttpStatusCode.NotFound)]
    [InlineData("/api/v1/swaps", HttpStatusCode.MethodNotAllowed)]
    [InlineData("/api/v1/swaps/x", HttpStatusCode.NotFound)]
    public async Task Every_refusal_of_a_read_says_what_it_is(string address, HttpStatusCode status)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var answer = await api.GetAsync(address);
        Assert.Equal(status, answer.StatusCode);
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
    }

    [Fact]
    public async Task A_form_sent_to_a_handler_that_is_not_there_is_refused_and_breaks_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.OfficeAsync();
        using var nobody = host.Browser();
        foreach (var page in new[] { $"/diary/swaps/{Guid.NewGuid()}", $"/diary/swaps/{Guid.NewGuid()}?handler=bogus" })
        {
            using var answer = await nobody.PostFormAsync("/people/sign-in", page, ("key", "x"));
            Assert.Equal(HttpStatusCode.MethodNotAllowed, answer.StatusCode);
        }

        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var page in new[] { $"/diary/offers/{Guid.NewGuid()}", "/travel/settings", "/travel/fit" })
        {
            using var put = new HttpRequestMessage(HttpMethod.Put, page) { Content = new FormUrlEncodedContent([KeyValuePair.Create("__RequestVerificationToken", await office.FormTokenAsync("/people/account"))]) };
            using var answer = await office.SendAsync(put);
            Assert.True((int)answer.StatusCode is >= 400 and < 500, $"{page}: {answer.StatusCode}");
        }
    }

    [Theory]
    [InlineData("/é", "/%C3%A9")]
    [InlineData("/pupils?q=Zoë", "/pupils?q=Zo%C3%AB")]
    [InlineData("/pupils?q=\u2028", "/pupils?q=%E2%80%A8")]
    public async Task Whoever_signs_in_is_led_on_to_an_address_with_any_letters(string next, string location)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var person = await host.Data.OfficeAsync();
        using var browser = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false, CookieContainer = new() }) { BaseAddress = new(host.Url) };
        using var answer = await browser.PostFormAsync(
            "/people/sign-in", $"/people/sign-in?Next={Uri.EscapeDataString(next)}", ("Input.Email", person.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.Equal(location, answer.Headers.GetValues("Location").Single());
    }

    private static async Task<string> AskAsync(NetworkStream stream, string request)
    {
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request), TestContext.Current.CancellationToken);
        var (buffer, said) = (new byte[8192], "");
        while (!said.Contains("\r\n\r\n", StringComparison.Ordinal))
        {
            var read = await stream.ReadAsync(buffer, TestContext.Current.CancellationToken);
            if (read == 0)
            {
                return $"closed after: {said}";
            }

            said += Encoding.UTF8.GetString(buffer, 0, read);
        }

        return said;
    }
}
