using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class SignInTests(TestPostgres postgres)
{
    private const string SignInPage = "/people/sign-in";

    [Fact]
    public async Task Each_role_comes_to_its_own_first_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await host.WithLessonsAheadAsync(1);
        foreach (var (person, home) in new[]
        {
            (await host.Data.PersonAsync(await host.Data.PupilAsync()), "/diary/home"),
            (await host.Data.PersonAsync(instructor), "/diary/day"),
            (await host.Data.OfficeAsync(), "/diary/board"),
        })
        {
            using var browser = await host.PagesAsAsync(person);
            Assert.Equal(home, (await browser.GetAsync("/")).Headers.Location?.OriginalString);
            var noted = await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == person.Id).Select(p => p.LastSignIn).SingleAsync());
            Assert.Equal(host.Clock.GetCurrentInstant(), noted);
        }
    }

    [Fact]
    public async Task Nobody_gets_further_than_the_sign_in_page_without_signing_in_and_then_goes_where_they_wanted()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = host.Browser();
        var sent = (await browser.GetAsync("/people/office")).Headers.Location!.OriginalString;
        Assert.Equal("/people/sign-in?next=%2Fpeople%2Foffice", sent);
        var answer = await browser.PostFormAsync(sent, ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal("/people/office", answer.Headers.Location?.OriginalString);
    }

    [Theory]
    [InlineData("https://elsewhere.example/")]
    [InlineData("//elsewhere.example")]
    [InlineData("/\\elsewhere.example")]
    [InlineData("javascript:alert(1)")]
    public async Task Signing_in_leads_nowhere_else(string next)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = host.Browser();
        var answer = await browser.PostFormAsync($"{SignInPage}?next={Uri.EscapeDataString(next)}", ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal("/", answer.Headers.Location?.OriginalString);
    }

    [Fact]
    public async Task A_wrong_sign_in_says_so_keeps_the_address_and_not_the_password()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.OfficeAsync();
        using var browser = host.Browser();
        var text = await (await browser.PostFormAsync(SignInPage, ("Input.Email", "nobody@larkfield.example"), ("Input.Password", "a secret of mine"))).TextAsync();
        Assert.Contains(CheckPassword.Wrong.For(null), text, StringComparison.Ordinal);
        Assert.Contains("value=\"nobody@larkfield.example\"", text, StringComparison.Ordinal);
        Assert.DoesNotContain("a secret of mine", text, StringComparison.Ordinal);
        var empty = await (await browser.PostFormAsync(SignInPage, ("Input.Email", ""), ("Input.Password", ""))).TextAsync();
        Assert.Contains("Type the e-mail address", empty, StringComparison.Ordinal);
        Assert.Contains("Type your password", empty, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Ten_wrong_tries_on_the_page_close_the_account_for_a_quarter_of_an_hour()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = host.Browser();
        for (var n = 0; n < 10; n++)
        {
            await browser.PostFormAsync(SignInPage, ("Input.Email", office.Email!), ("Input.Password", "wrong wrong wrong"));
        }

        var closed = await browser.PostFormAsync(SignInPage, ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Contains("Too many tries", await closed.TextAsync(), StringComparison.Ordinal);
        host.Clock.Advance(Duration.FromMinutes(15));
        using var later = await host.PagesAsAsync(office);
    }

    [Fact]
    public async Task The_cookie_is_bound_to_this_host_closed_to_scripts_and_good_at_every_node()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var office = await host.Data.OfficeAsync();
        using var browser = host.Browser();
        var answer = await browser.PostFormAsync(SignInPage, ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        var cookie = answer.Headers.GetValues("Set-Cookie").Single(c => c.StartsWith("__Host-school=", StringComparison.Ordinal));
        foreach (var part in new[] { "path=/", "secure", "httponly", "samesite=lax", "max-age=86400" })
        {
            Assert.Contains(part, cookie, StringComparison.OrdinalIgnoreCase);
        }

        using var elsewhere = second.Anonymous();
        elsewhere.DefaultRequestHeaders.Add("Cookie", cookie.Split(';')[0]);
        Assert.Equal(HttpStatusCode.OK, (await elsewhere.GetAsync("/people/account")).StatusCode);
    }

    [Fact]
    public async Task Staff_sign_in_anew_after_a_day_and_pupils_after_a_fortnight_however_much_they_use_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var pupil = host.Browser();
        var cookies = (await pupil.SignInAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()))).Headers.GetValues("Set-Cookie");
        Assert.Contains(cookies, cookie => cookie.StartsWith("__Host-school=", StringComparison.Ordinal) && cookie.Contains("max-age=1209600", StringComparison.Ordinal));
        async Task<HttpStatusCode> Open(HttpClient browser) => (await browser.GetAsync("/people/account")).StatusCode;
        host.Clock.Advance(Duration.FromHours(23));
        Assert.Equal(HttpStatusCode.OK, await Open(office));
        host.Clock.Advance(Duration.FromHours(1) + Duration.FromSeconds(1));
        Assert.Equal(HttpStatusCode.Redirect, await Open(office));
        host.Clock.Advance(Duration.FromDays(12));
        Assert.Equal(HttpStatusCode.OK, await Open(pupil));
        host.Clock.Advance(Duration.FromDays(1));
        Assert.Equal(HttpStatusCode.Redirect, await Open(pupil));
    }

    [Fact]
    public async Task Signing_out_ends_the_cookie_and_clears_what_the_browser_kept()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var answer = await browser.PostFormAsync("/people/sign-out");
        Assert.Equal("\"cache\", \"storage\"", answer.Headers.GetValues("Clear-Site-Data").Single());
        Assert.Equal(HttpStatusCode.Redirect, (await browser.GetAsync("/people/account")).StatusCode);
        Assert.Contains("You are signed out", await (await browser.GetAsync("/people/sign-out")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Signing_out_everywhere_ends_every_cookie_and_token()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var here = await host.PagesAsAsync(office);
        using var there = await host.PagesAsAsync(office);
        using var program = await host.ApiAsAsync(office);
        Assert.Equal(HttpStatusCode.Redirect, (await here.PostFormAsync("/people/sign-out-everywhere")).StatusCode);
        Assert.Equal(HttpStatusCode.Unauthorized, (await program.GetAsync("/api/v1/tokens")).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await here.GetAsync("/people/account")).StatusCode);
        host.Clock.Advance(Duration.FromSeconds(61));
        Assert.Equal(HttpStatusCode.Redirect, (await there.GetAsync("/people/account")).StatusCode);
        using var again = await host.PagesAsAsync(office);
        Assert.Equal(HttpStatusCode.OK, (await again.GetAsync("/people/account")).StatusCode);
    }

    [Fact]
    public async Task Somebody_without_the_permission_is_told_so_in_words()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var pupil = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        var to = (await pupil.GetAsync("/people/office")).Headers.Location!.OriginalString;
        var told = await pupil.GetAsync(to);
        Assert.Equal(HttpStatusCode.Forbidden, told.StatusCode);
        Assert.Contains("do not have access to this page", await told.TextAsync(), StringComparison.Ordinal);
    }
}
