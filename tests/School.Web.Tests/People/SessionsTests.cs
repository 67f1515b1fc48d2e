using System.Net;
using System.Text.RegularExpressions;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

/// <summary>A sign-in can be seen and ended (OWASP ASVS 5.0, V7.4 and V7.5).</summary>
public sealed partial class SessionsTests(TestPostgres postgres)
{
    private const string Account = "/people/account";
    private const string Sessions = "/people/account/sessions";
    private const string Chosen = "four winds over larkfield";
    private const string Phone = "Mozilla/5.0 (Linux; Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0";
    private const string Desk = "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/141.0.0.0 Safari/537.36";

    [Fact]
    public async Task Signing_out_ends_a_copied_cookie_at_once_and_at_every_node()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        using var browser = host.Browser();
        using var thief = second.Anonymous().Holding((await browser.SignInAsync(await host.Data.OfficeAsync())).CookiesOf());
        Assert.Equal(HttpStatusCode.OK, (await thief.GetAsync(Account)).StatusCode);
        await browser.PostFormAsync("/people/sign-out");
        Assert.Equal(HttpStatusCode.Redirect, (await thief.GetAsync(Account)).StatusCode);
    }

    [Fact]
    public async Task A_new_password_signing_out_everywhere_and_a_closed_sign_in_end_the_others_at_once_and_at_every_node()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var (office, colleague) = (await host.Data.OfficeAsync(), await host.Data.OfficeAsync("Corin Marsh"));
        using var here = await host.PagesAsAsync(office);

        using var one = await second.PagesAsAsync(office);
        await here.PostFormAsync(Account, $"{Account}?handler=Password", ("Present", SchoolHost.Password), ("Password", Chosen));
        Assert.Equal(HttpStatusCode.Redirect, (await one.GetAsync(Account)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await here.GetAsync(Account)).StatusCode);

        using var two = second.Browser();
        await two.SignInAsync(office, Chosen);
        Assert.Equal(HttpStatusCode.OK, (await two.GetAsync(Account)).StatusCode);
        await here.PostFormAsync("/people/sign-out-everywhere");
        Assert.Equal(HttpStatusCode.Redirect, (await two.GetAsync(Account)).StatusCode);

        using var closing = host.Browser();
        await closing.SignInAsync(office, Chosen);
        using var closed = await second.PagesAsAsync(colleague);
        Assert.Equal(HttpStatusCode.OK, (await closed.GetAsync(Account)).StatusCode);
        await closing.PostFormAsync("/people/office", $"/people/office?handler=Close&id={colleague.Id}");
        Assert.Equal(HttpStatusCode.Redirect, (await closed.GetAsync(Account)).StatusCode);
    }

    [Fact]
    public async Task Who_had_given_the_old_password_before_it_was_changed_gets_no_further()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var office = await host.Data.OfficeAsync();
        using var owner = await host.PagesAsAsync(office);
        var secret = await TokensTests.SecondStepOnAsync(host, office);
        string CodeNow() => Totp.Code(secret, Totp.StepOf(host.Clock.GetCurrentInstant()));
        using var fresh = host.Browser();
        Assert.StartsWith("/people/second-step", (await fresh.SignInAsync(office)).Headers.Location!.OriginalString, StringComparison.Ordinal);
        await fresh.PostFormAsync("/people/second-step", ("Code", CodeNow()));
        host.Clock.Advance(Duration.FromSeconds(60));

        using var thief = second.Browser();
        await thief.SignInAsync(office);
        await fresh.PostFormAsync(Account, $"{Account}?handler=Password", ("Present", SchoolHost.Password), ("Password", Chosen));
        Assert.Equal("/people/sign-in", (await thief.GetAsync("/people/second-step")).Headers.Location?.OriginalString);
        await thief.PostAsync("/people/second-step", new FormUrlEncodedContent([KeyValuePair.Create("Code", CodeNow())]));
        Assert.Equal(HttpStatusCode.Redirect, (await thief.GetAsync(Account)).StatusCode);
    }

    [Fact]
    public async Task The_page_lists_ones_browsers_with_their_first_and_last_use_and_ends_one_or_all_others()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var phone = host.Browser().With(Phone);
        await phone.SignInAsync(office);
        host.Clock.Advance(Duration.FromHours(2));
        using var desk = host.Browser().With(Desk);
        await desk.SignInAsync(office);
        using var plain = host.Browser();
        await plain.SignInAsync(office);

        var text = await (await desk.GetAsync(Sessions)).TextAsync();
        Assert.Contains("Firefox on Android", text, StringComparison.Ordinal);
        Assert.Contains("Chrome on Windows", text, StringComparison.Ordinal);
        Assert.Contains("a browser", text, StringComparison.Ordinal);
        Assert.Contains("2 March 2026, 08:00", text, StringComparison.Ordinal);
        Assert.Contains("2 March 2026, 10:00", text, StringComparison.Ordinal);
        Assert.Contains("this browser", text, StringComparison.Ordinal);
        var ends = End().Matches(text).Select(m => m.Groups[1].Value).ToList();
        Assert.Equal(2, ends.Count); // this one is ended by signing out

        await desk.PostFormAsync(Sessions, $"{Sessions}?handler=End&id={ends[^1]}");
        Assert.Equal(HttpStatusCode.Redirect, (await phone.GetAsync(Account)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await plain.GetAsync(Account)).StatusCode);
        await desk.PostFormAsync(Sessions, $"{Sessions}?handler=EndOthers");
        Assert.Equal(HttpStatusCode.Redirect, (await plain.GetAsync(Account)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await desk.GetAsync(Account)).StatusCode);
        Assert.DoesNotContain("Firefox on Android", await (await desk.GetAsync(Sessions)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Nobody_sees_or_ends_a_sign_in_of_somebody_else()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var phone = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var mine = await host.Data.OfficeAsync();
        using var here = await host.PagesAsAsync(mine);
        using var also = await host.PagesAsAsync(mine);
        var id = End().Match(await (await here.GetAsync(Sessions)).TextAsync()).Groups[1].Value;
        Assert.DoesNotContain(id, await (await phone.GetAsync(Sessions)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await phone.PostFormAsync(Sessions, $"{Sessions}?handler=End&id={id}")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await also.GetAsync(Account)).StatusCode);
    }

    [Fact]
    public async Task Signing_in_anew_gives_a_new_cookie_and_ends_the_one_that_the_browser_held()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = host.Browser();
        using var before = host.Anonymous().Holding((await browser.SignInAsync(office)).CookiesOf());
        var page = await browser.GetAsync("/people/forgotten"); // any page with a form: the sign-in page itself leads on
        Assert.Equal(HttpStatusCode.OK, page.StatusCode);
        await browser.PostFormAsync("/people/forgotten", "/people/sign-in", ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync(Account)).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await before.GetAsync(Account)).StatusCode);
    }

    [Fact]
    public async Task Knowing_who_is_signed_in_costs_one_question_to_the_database()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var somebody = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var nobody = host.Anonymous();
        using var statements = new Statements(host);
        await nobody.GetAsync("/people/sign-out");
        await somebody.GetAsync("/people/sign-out");
        statements.Take();
        await nobody.GetAsync("/people/sign-out");
        var without = statements.Take();
        await somebody.GetAsync("/people/sign-out");
        var asked = statements.Take();
        Assert.Single(asked, statement => statement.Contains("people.sessions", StringComparison.Ordinal));
        Assert.True(asked.Count == without.Count + 1, string.Join("\n\n", asked));
    }

    [GeneratedRegex("[?&]id=([0-9a-f-]{36})&handler=End\"")]
    private static partial Regex End();
}
