using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

/// <summary>
/// Guessing is slowed and the owner is not locked out: a limit per account and address, a delay for the account as a whole, and
/// a limit of its own for a browser that signed in before (OWASP, Slow Down Online Guessing Attacks with Device Cookies; ASVS 5.0 V6.3.1).
/// </summary>
public sealed class GuessingTests(TestPostgres postgres)
{
    private const string Tokens = "/api/v1/tokens";
    private const string Attacker = "203.0.113.7";
    private const string Owner = "198.51.100.4";

    [Fact]
    public async Task Wrong_tries_from_elsewhere_do_not_keep_the_owner_out()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var attacker = host.Anonymous().From(Attacker);
        await WrongAsync(attacker, office.Email!, 10);
        Assert.Equal(HttpStatusCode.TooManyRequests, (await TryAsync(attacker, office.Email!, SchoolHost.Password)).StatusCode);
        using var owner = host.Browser().From(Owner);
        Assert.Equal(HttpStatusCode.Redirect, (await owner.SignInAsync(office)).StatusCode);
    }

    [Fact]
    public async Task Guessing_from_many_addresses_makes_each_try_slower_and_closes_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var attacker = host.Anonymous();
        for (var n = 0; n < 14; n++)
        {
            await WrongAsync(attacker.From($"203.0.113.{n}"), office.Email!, 1);
        }

        using var owner = host.Anonymous().From(Owner);
        var watch = Stopwatch.StartNew();
        Assert.Equal(HttpStatusCode.Created, (await TryAsync(owner, office.Email!, SchoolHost.Password)).StatusCode);
        Assert.True(watch.Elapsed > TimeSpan.FromSeconds(1), $"{watch.Elapsed}");

        // An account that there is not is as slow, so that the time tells nothing.
        for (var n = 0; n < 14; n++)
        {
            await WrongAsync(attacker.From($"203.0.113.{n}"), "nobody@larkfield.example", 1);
        }

        watch.Restart();
        Assert.Equal(HttpStatusCode.Unauthorized, (await TryAsync(owner, "nobody@larkfield.example", SchoolHost.Password)).StatusCode);
        Assert.True(watch.Elapsed > TimeSpan.FromSeconds(1), $"{watch.Elapsed}");
    }

    [Fact]
    public async Task A_browser_that_signed_in_before_goes_through_and_has_a_limit_of_its_own()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var known = host.Browser().From(Owner);
        await known.SignInAsync(office);
        await known.PostFormAsync("/people/sign-out");

        // The attacker sits in the same house.
        using var attacker = host.Anonymous().From(Owner);
        await WrongAsync(attacker, office.Email!, 10);
        using var strange = host.Browser().From(Owner);
        Assert.Equal(HttpStatusCode.OK, (await strange.SignInAsync(office)).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await known.SignInAsync(office)).StatusCode);

        await known.PostFormAsync("/people/sign-out");
        for (var n = 0; n < 10; n++)
        {
            await known.SignInAsync(office, "wrong wrong wrong");
        }

        Assert.Contains("Too many tries", await (await known.SignInAsync(office)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Having_signed_in_as_oneself_does_not_help_to_guess_at_somebody_else()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var pupil = host.Browser().From(Attacker);
        await pupil.SignInAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        await pupil.PostFormAsync("/people/sign-out");
        for (var n = 0; n < 10; n++)
        {
            await pupil.SignInAsync(office, "wrong wrong wrong");
        }

        Assert.Contains("Too many tries", await (await pupil.SignInAsync(office)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task However_a_name_is_written_it_is_one_account()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous().From(Attacker);
        await WrongAsync(api, office.Email!, 10);

        // U+212A, the kelvin sign, is a k once it is normalised (Unicode Standard Annex 15, singleton mappings).
        Assert.Contains('k', office.Email!);
        foreach (var written in new[] { office.Email!.Replace('k', '\u212a'), office.Email!.ToUpperInvariant(), $" {office.Email}" })
        {
            Assert.Equal(HttpStatusCode.TooManyRequests, (await TryAsync(api, written, SchoolHost.Password)).StatusCode);
        }
    }

    [Fact]
    public async Task Addresses_of_one_network_count_as_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = host.Anonymous();
        for (var n = 0; n < 50; n++)
        {
            await WrongAsync(api.From($"2001:db8:0:7:{n:x}::1"), $"guess{n}@larkfield.example", 1);
        }

        // RFC 4291 section 2.5.4: the first 64 bits are the network, the rest is whatever the machine likes.
        Assert.Equal(HttpStatusCode.TooManyRequests, (await TryAsync(api.From("2001:db8:0:7:ffff::9"), "guess99@larkfield.example", "wrong wrong wrong")).StatusCode);
        Assert.Equal(HttpStatusCode.Unauthorized, (await TryAsync(api.From("2001:db8:0:8::1"), "guess99@larkfield.example", "wrong wrong wrong")).StatusCode);
    }

    [Fact]
    public async Task Who_has_to_wait_is_told_how_long_on_page_and_api()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous().From(Attacker);
        host.Clock.Advance(Duration.FromMinutes(10));
        await WrongAsync(api, office.Email!, 10);
        var refused = await TryAsync(api, office.Email!, SchoolHost.Password);
        Assert.Equal("300", refused.Headers.GetValues("Retry-After").Single());
        Assert.Contains("5 minutes", (await refused.JsonAsync()).GetProperty("detail").GetString(), StringComparison.Ordinal);
        using var browser = host.Browser().From(Attacker);
        var page = await browser.SignInAsync(office);
        Assert.Contains("Wait 5 minutes", await page.TextAsync(), StringComparison.Ordinal);
        host.Clock.Advance(Duration.FromSeconds(int.Parse(refused.Headers.GetValues("Retry-After").Single(), CultureInfo.InvariantCulture)));
        Assert.Equal(HttpStatusCode.Created, (await TryAsync(api, office.Email!, SchoolHost.Password)).StatusCode);
    }

    [Fact]
    public async Task A_wrong_try_makes_the_same_work_whether_the_name_is_known_or_not()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous();
        await WrongAsync(api, office.Email!, 1);
        using var statements = new Statements(host);
        await WrongAsync(api, office.Email!, 1);
        var known = statements.Take();
        await WrongAsync(api, "nobody@larkfield.example", 1);
        Assert.NotEmpty(known);
        Assert.Equal(known, statements.Take());
    }

    private static async Task WrongAsync(HttpClient api, string email, int times)
    {
        for (var n = 0; n < times; n++)
        {
            Assert.Equal(HttpStatusCode.Unauthorized, (await TryAsync(api, email, "wrong wrong wrong")).StatusCode);
        }
    }

    private static Task<HttpResponseMessage> TryAsync(HttpClient api, string email, string password) => api.PostAsJsonAsync(Tokens, new { email, password });
}
