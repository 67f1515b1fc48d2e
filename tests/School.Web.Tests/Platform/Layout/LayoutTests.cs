using System.Net;
using System.Security.Cryptography;
using System.Text.RegularExpressions;
using Xunit;

namespace School.Web.Tests.Platform.Layout;

public sealed partial class LayoutTests
{
    private static readonly string Root = FindRoot();

    [Theory]
    [InlineData(404, "There is nothing at this address")]
    [InlineData(403, "You do not have access to this page")]
    [InlineData(503, "The diary is not answering")]
    [InlineData(500, "Something went wrong at our side")]
    public async Task An_error_page_keeps_its_status_and_says_what_to_do(int status, string heading)
    {
        await using var host = await PageHost.Start();
        var response = await host.Client().GetAsync($"/error/{status}", TestContext.Current.CancellationToken);
        var page = await response.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);

        Assert.Equal(status, (int)response.StatusCode);
        Assert.Contains($"<h1>{heading}</h1>", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_unknown_address_gets_the_page_for_it_whatever_the_method()
    {
        await using var host = await PageHost.Start("office");
        var response = await host.Client().DeleteAsync("/no/such/page", TestContext.Current.CancellationToken);

        Assert.Equal(HttpStatusCode.NotFound, response.StatusCode);
        Assert.Contains("There is nothing at this address",
            await response.Content.ReadAsStringAsync(TestContext.Current.CancellationToken), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("pupil", "/diary/book", "/cars")]
    [InlineData("instructor", "/diary/day", "/diary/board")]
    [InlineData("office", "/diary/board", "/diary/book")]
    public async Task Each_role_sees_its_own_places_and_can_sign_out(string role, string own, string foreign)
    {
        await using var host = await PageHost.Start(role);
        var page = await Page(host);

        Assert.Contains($"href=\"{own}\"", page, StringComparison.Ordinal);
        Assert.DoesNotContain($"href=\"{foreign}\"", page, StringComparison.Ordinal);
        Assert.Matches("<form method=\"post\" action=\"/people/sign-out\"[^>]*><button[^>]*>Sign out</button><input name=\"__RequestVerificationToken\"", page);
    }

    [Fact]
    public async Task Nothing_on_a_page_needs_inline_style_or_script()
    {
        await using var host = await PageHost.Start("office");
        var page = await Page(host);

        Assert.DoesNotMatch(@"\sstyle=|<style|\son[a-z]+=|hx-on", page);
        Assert.All(Scripts().Matches(page), script => Assert.Contains("src=\"/", script.Value, StringComparison.Ordinal));
        Assert.NotEmpty(Scripts().Matches(page));
    }

    [Fact]
    public void Every_browser_library_is_the_one_that_was_locked()
    {
        var locked = File.ReadLines(Path.Combine(Root, "deploy", "assets.lock")).Where(line => !line.StartsWith('#')).ToList();

        Assert.NotEmpty(locked);
        Assert.All(locked, line =>
        {
            var part = line.Split(' ');
            var hash = Convert.ToBase64String(SHA512.HashData(File.ReadAllBytes(Path.Combine(Root, part[4]))));
            Assert.Equal(part[5], $"sha512-{hash}");
        });
    }

    [Fact]
    public void All_styles_together_stay_under_15_KB_compressed()
    {
        using var sink = new MemoryStream();
        using (var gzip = new System.IO.Compression.GZipStream(sink, System.IO.Compression.CompressionLevel.Optimal, leaveOpen: true))
        {
            foreach (var file in Directory.EnumerateFiles(Path.Combine(Root, "src", "School.Web", "wwwroot", "css"), "*.css"))
            {
                gzip.Write(File.ReadAllBytes(file));
            }
        }

        Assert.InRange(sink.Length, 1, 15 * 1024);
    }

    private static Task<string> Page(PageHost host) => ReadAsync(host.Client(), "/error/404");

    private static async Task<string> ReadAsync(HttpClient client, string path) =>
        await (await client.GetAsync(path, TestContext.Current.CancellationToken)).Content.ReadAsStringAsync(TestContext.Current.CancellationToken);

    private static string FindRoot()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "School.sln")))
        {
            folder = folder.Parent;
        }

        return folder?.FullName ?? throw new InvalidOperationException("School.sln is not above the tests");
    }

    [GeneratedRegex("<script[^>]*>")]
    private static partial Regex Scripts();
}
