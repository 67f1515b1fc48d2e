using System.Net;
using NodaTime;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class ResetTests(TestPostgres postgres)
{
    private const string Kind = "password-reset";
    private const string Chosen = "four winds over larkfield";

    [Fact]
    public async Task A_forgotten_password_is_renewed_by_a_link_that_works_once_and_ends_what_was_open()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var open = await host.PagesAsAsync(pupil);
        using var program = await host.ApiAsAsync(pupil);
        using var browser = host.Browser();
        await browser.PostFormAsync("/people/forgotten", ("Email", pupil.Email!.ToUpperInvariant()));
        var link = await Mails.LinkAsync(host, pupil.Email!, Kind);
        Assert.Contains("easy to guess", await (await browser.PostFormAsync(link, ("Password", "passwordpassword"))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal("/people/sign-in", (await browser.PostFormAsync(link, ("Password", Chosen))).Headers.Location?.OriginalString);
        Assert.Contains("Your password is changed", await (await browser.GetAsync("/people/sign-in")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("This link is over", await (await browser.GetAsync(link)).TextAsync(), StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.Unauthorized, (await program.GetAsync("/api/v1/tokens")).StatusCode);
        host.Clock.Advance(Duration.FromSeconds(61));
        Assert.Equal(HttpStatusCode.Redirect, (await open.GetAsync("/people/account")).StatusCode);
        var old = await browser.PostFormAsync("/people/sign-in", ("Input.Email", pupil.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal(HttpStatusCode.OK, old.StatusCode);
        var chosen = await browser.PostFormAsync("/people/sign-in", ("Input.Email", pupil.Email!), ("Input.Password", Chosen));
        Assert.Equal(HttpStatusCode.Redirect, chosen.StatusCode);
    }

    [Fact]
    public async Task The_link_ends_after_an_hour_and_is_no_invitation()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var browser = host.Browser();
        await browser.PostFormAsync("/people/forgotten", ("Email", pupil.Email!));
        var link = await Mails.LinkAsync(host, pupil.Email!, Kind);
        Assert.Contains("invitation is over", await (await browser.GetAsync(link.Replace("/reset", "/accept", StringComparison.Ordinal))).TextAsync(), StringComparison.Ordinal);
        host.Clock.Advance(Duration.FromHours(1) - Duration.FromSeconds(1));
        Assert.Contains("Choose a new password", await (await browser.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
        host.Clock.Advance(Duration.FromSeconds(1));
        Assert.Contains("This link is over", await (await browser.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("")]
    [InlineData("?person=nonsense&token=nonsense")]
    [InlineData("?person=00000000-0000-7000-8000-000000000001&token=CfDJ8")]
    public async Task A_link_that_is_none_is_over(string query)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        var answer = await browser.GetAsync($"/people/reset{query}");
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Contains("This link is over", await answer.TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Known_and_unknown_addresses_get_the_same_answer()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        var answers = new List<string>();
        foreach (var email in new[] { pupil.Email!, "nobody@larkfield.example" })
        {
            using var browser = host.Browser();
            var sent = await browser.PostFormAsync("/people/forgotten", ("Email", email));
            Assert.Equal("/people/sign-in", sent.Headers.Location?.OriginalString);
            var text = await (await browser.GetAsync("/people/sign-in")).TextAsync();
            answers.Add(text[text.IndexOf("If somebody signs in here", StringComparison.Ordinal)..].Split('<')[0]);
        }

        Assert.Equal(answers[0], answers[1]);
        Assert.Empty(await Mails.OfAsync(host, "nobody@larkfield.example", Kind));
    }

    [Fact]
    public async Task One_account_gets_at_most_five_letters_in_a_quarter_of_an_hour_and_the_answer_does_not_tell()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var browser = host.Browser();
        for (var n = 0; n < 8; n++)
        {
            Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync("/people/forgotten", ("Email", pupil.Email!))).StatusCode);
        }

        Assert.Equal(5, (await Mails.OfAsync(host, pupil.Email!, Kind)).Count);
    }
}
