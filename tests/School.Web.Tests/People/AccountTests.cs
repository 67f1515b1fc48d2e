using System.Net;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed partial class AccountTests(TestPostgres postgres)
{
    private const string Account = "/people/account";
    private const string Sessions = "/people/account/sessions";
    private const string Step = "/people/account/second-step";
    private const string Chosen = "four winds over larkfield";

    [Fact]
    public async Task People_change_their_own_name_and_a_bad_one_is_refused()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await browser.PostFormAsync(Account, $"{Account}?handler=Name", ("Name", "Rosalind 🌿 Pike"));
        Assert.Contains("value=\"Rosalind 🌿 Pike\"", await (await browser.GetAsync(Account)).TextAsync(), StringComparison.Ordinal);
        var refused = await browser.PostFormAsync(Account, $"{Account}?handler=Name", ("Name", new string('x', 81)));
        Assert.Contains("keep it to 80 characters", await refused.TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Changing_the_password_wants_the_present_one_and_ends_the_other_browsers_but_not_this_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var here = await host.PagesAsAsync(office);
        using var there = await host.PagesAsAsync(office);
        var wrong = await here.PostFormAsync(Account, $"{Account}?handler=Password", ("Present", "not it at all"), ("Password", Chosen));
        Assert.Contains("That is not your current password", await wrong.TextAsync(), StringComparison.Ordinal);
        var weak = await here.PostFormAsync(Account, $"{Account}?handler=Password", ("Present", SchoolHost.Password), ("Password", "rosalindpike1"));
        Assert.Contains("easy to guess", await weak.TextAsync(), StringComparison.Ordinal);
        var changed = await here.PostFormAsync(Account, $"{Account}?handler=Password", ("Present", SchoolHost.Password), ("Password", Chosen));
        Assert.Equal(HttpStatusCode.Redirect, changed.StatusCode);
        host.Clock.Advance(Duration.FromSeconds(61));
        Assert.Equal(HttpStatusCode.OK, (await here.GetAsync(Account)).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await there.GetAsync(Account)).StatusCode);
    }

    [Fact]
    public async Task Tokens_are_listed_and_ended_on_the_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = await host.PagesAsAsync(office);
        using var program = host.Anonymous();
        program.DefaultRequestHeaders.Authorization = new("Bearer", await host.TokenAsync(office));
        var token = await host.WithDbAsync(db => db.Set<ApiToken>().SingleAsync());
        Assert.Contains("one program uses a token", await (await browser.GetAsync(Account)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("9 March 2026", await (await browser.GetAsync(Sessions)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await browser.PostFormAsync(Sessions, $"{Sessions}?handler=EndToken&id={Guid.NewGuid()}")).StatusCode);
        await browser.PostFormAsync(Sessions, $"{Sessions}?handler=EndToken&id={token.Id}");
        Assert.Equal(HttpStatusCode.Unauthorized, (await program.GetAsync("/api/v1/tokens")).StatusCode);
    }

    [Fact]
    public async Task The_second_step_is_set_up_with_a_picture_a_key_and_recovery_codes_and_then_asked_for()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = await host.PagesAsAsync(office);
        await browser.PostFormAsync(Step, $"{Step}?handler=Start", ("Present", SchoolHost.Password));
        var shown = await (await browser.GetAsync(Step)).TextAsync();
        Assert.Contains("src=\"data:image/png;base64,", shown, StringComparison.Ordinal);
        var secret = Totp.FromBase32(KeyIn(shown));
        string CodeNow() => Totp.Code(secret, Totp.StepOf(host.Clock.GetCurrentInstant()));

        var wrong = await browser.PostFormAsync(Step, $"{Step}?handler=Confirm", ("Code", "000000"));
        var refused = await wrong.TextAsync();
        Assert.Contains("That code is not right", refused, StringComparison.Ordinal);
        // They have none before it is on.
        Assert.DoesNotContain("recovery code", refused, StringComparison.Ordinal);
        var on = await (await browser.PostFormAsync(Step, $"{Step}?handler=Confirm", ("Code", CodeNow()))).TextAsync();
        var codes = RecoveryCode().Matches(on).Select(m => m.Groups[1].Value).ToList();
        Assert.Equal(10, codes.Distinct().Count());
        Assert.Contains("You have 10 recovery codes left", await (await browser.GetAsync(Step)).TextAsync(), StringComparison.Ordinal);

        // What the database keeps gives neither the key nor a code away.
        var kept = await host.WithDbAsync(db => db.Set<IdentityUserToken<Guid>>().Select(t => t.Value).ToListAsync());
        Assert.DoesNotContain(kept, value => codes.Any(code => value!.Contains(code, StringComparison.OrdinalIgnoreCase)) || value!.Contains(KeyIn(shown), StringComparison.Ordinal));

        host.Clock.Advance(Duration.FromSeconds(60));
        using var second = host.Browser();
        var held = await second.PostFormAsync("/people/sign-in?next=%2Fpeople%2Foffice", ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        var to = held.Headers.Location!.OriginalString;
        Assert.StartsWith("/people/second-step", to, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await second.GetAsync(Account)).StatusCode);
        Assert.Contains("That code is not right", await (await second.PostFormAsync(to, ("Code", "123"))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal("/people/office", (await second.PostFormAsync(to, ("Code", CodeNow()))).Headers.Location?.OriginalString);
        Assert.Equal(HttpStatusCode.OK, (await second.GetAsync(Account)).StatusCode);

        using var third = host.Browser();
        await third.PostFormAsync("/people/sign-in", ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal("/", (await third.PostFormAsync("/people/second-step", ("Code", codes[0].ToLowerInvariant()))).Headers.Location?.OriginalString);
        using var fourth = host.Browser();
        await fourth.PostFormAsync("/people/sign-in", ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal(HttpStatusCode.OK, (await fourth.PostFormAsync("/people/second-step", ("Code", codes[0]))).StatusCode);
    }

    [Fact]
    public async Task The_second_step_asks_for_the_password_first_and_waits_five_minutes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        await TokensTests.SecondStepOnAsync(host, office);
        using var browser = host.Browser();
        Assert.Equal("/people/sign-in", (await browser.GetAsync("/people/second-step")).Headers.Location?.OriginalString);
        await browser.PostFormAsync("/people/sign-in", ("Input.Email", office.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/people/second-step")).StatusCode);
        host.Clock.Advance(Duration.FromMinutes(5) + Duration.FromSeconds(1));
        Assert.Equal(HttpStatusCode.Redirect, (await browser.GetAsync("/people/second-step")).StatusCode);
    }

    [Fact]
    public async Task Turning_the_second_step_off_wants_the_password()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        var secret = await TokensTests.SecondStepOnAsync(host, office);
        using var browser = await host.PagesAsAsync(office);
        await browser.PostFormAsync("/people/second-step", ("Code", Totp.Code(secret, Totp.StepOf(host.Clock.GetCurrentInstant()))));
        var wrong = await browser.PostFormAsync(Step, $"{Step}?handler=Off", ("Present", "not it at all"));
        Assert.Contains("That is not your current password", await wrong.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(Account, (await browser.PostFormAsync(Step, $"{Step}?handler=Off", ("Present", SchoolHost.Password))).Headers.Location?.OriginalString);
        using var again = await host.PagesAsAsync(office);
        Assert.Equal(HttpStatusCode.OK, (await again.GetAsync(Account)).StatusCode);
    }

    [Fact]
    public async Task Where_it_is_required_staff_are_led_to_the_second_step_and_can_do_nothing_else_before()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:StaffSecondStep", "required"));
        using var pupil = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        Assert.Equal("/diary/home", (await pupil.GetAsync("/")).Headers.Location?.OriginalString);

        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(Step, (await office.GetAsync("/")).Headers.Location?.OriginalString);
        var refused = (await office.GetAsync("/people/office")).Headers.Location!.OriginalString;
        Assert.Equal(Step, (await office.GetAsync(refused)).Headers.Location?.OriginalString);
        Assert.Contains("Set it up now", await (await office.GetAsync(Step)).TextAsync(), StringComparison.Ordinal);

        await office.PostFormAsync(Step, $"{Step}?handler=Start", ("Present", SchoolHost.Password));
        var secret = Totp.FromBase32(KeyIn(await (await office.GetAsync(Step)).TextAsync()));
        await office.PostFormAsync(Step, $"{Step}?handler=Confirm", ("Code", Totp.Code(secret, Totp.StepOf(host.Clock.GetCurrentInstant()))));
        Assert.Equal("/office/who", (await office.GetAsync("/")).Headers.Location?.OriginalString);
        Assert.Equal(HttpStatusCode.OK, (await office.GetAsync("/people/office")).StatusCode);
        var off = await office.PostFormAsync(Step, $"{Step}?handler=Off", ("Present", SchoolHost.Password));
        Assert.Contains("Staff of this school use two-step sign-in", await off.TextAsync(), StringComparison.Ordinal);
    }

    /// <summary>Only the password shows the key and turns the step on: a browser left open is not enough (OWASP ASVS 5.0 V7.5.1).</summary>
    [Fact]
    public async Task Setting_up_the_second_step_wants_the_password_and_its_key_is_not_shown_to_whoever_finds_the_browser_open()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = await host.PagesAsAsync(office);
        foreach (var present in new[] { "", "not it at all" })
        {
            var refused = await (await browser.PostFormAsync(Step, $"{Step}?handler=Start", ("Present", present))).TextAsync();
            Assert.Contains("That is not your current password", refused, StringComparison.Ordinal);
            Assert.DoesNotMatch(Key(), refused);
        }

        Assert.DoesNotMatch(Key(), await (await browser.GetAsync(Step)).TextAsync());
        await browser.PostFormAsync(Step, $"{Step}?handler=Start", ("Present", SchoolHost.Password));
        var secret = Totp.FromBase32(KeyIn(await (await browser.GetAsync(Step)).TextAsync()));
        using var elsewhere = await host.PagesAsAsync(office);
        Assert.DoesNotMatch(Key(), await (await elsewhere.GetAsync(Step)).TextAsync());

        host.Clock.Advance(Duration.FromMinutes(10) + Duration.FromSeconds(1));
        Assert.DoesNotMatch(Key(), await (await browser.GetAsync(Step)).TextAsync());
        foreach (var late in new[] { browser, elsewhere })
        {
            await late.PostFormAsync(Step, $"{Step}?handler=Confirm", ("Code", Totp.Code(secret, Totp.StepOf(host.Clock.GetCurrentInstant()))));
            Assert.False(await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == office.Id).Select(p => p.TwoFactorEnabled).SingleAsync()));
        }
    }

    /// <summary>The key that the page shows, as an authenticator takes it.</summary>
    internal static string KeyIn(string page)
    {
        var shown = Key().Match(page);
        Assert.True(shown.Success, page);
        return shown.Groups[1].Value.Replace(" ", "", StringComparison.Ordinal);
    }

    [GeneratedRegex("""type the key: <code translate="no">([A-Z2-7 ]+)</code>""")]
    private static partial Regex Key();

    [GeneratedRegex("<li><code>([^<]+)</code></li>")]
    private static partial Regex RecoveryCode();
}
