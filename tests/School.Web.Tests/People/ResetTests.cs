using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class ResetTests(TestPostgres postgres)
{
    private const string Kind = "password-reset";
    private const string Family = "oakley@larkfield.example";
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
        await Mails.WriteResetLettersAsync(host);
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
        await Mails.WriteResetLettersAsync(host);
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
        await Mails.WriteResetLettersAsync(host);
        Assert.Single(await Mails.OfAsync(host, pupil.Email!, Kind));
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
            await Mails.WriteResetLettersAsync(host);
        }

        Assert.Equal(5, (await Mails.OfAsync(host, pupil.Email!, Kind)).Count);
    }

    /// <summary>The same work for both, so that no clock tells which addresses are known (OWASP ASVS 5.0 V6.3.8).</summary>
    [Fact]
    public async Task Known_unknown_and_closed_addresses_make_the_same_work_while_somebody_waits_for_the_answer()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        var closed = await host.Data.PersonAsync(await host.Data.PupilAsync("Corin Marsh"));
        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == closed.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));
        foreach (var name in new[] { "tamsin", "corin", "rowan" })
        {
            await host.Data.WearerAsync(name, Family, OfficeParts.Diary, signInName: name);
        }

        using var browser = host.Browser();
        await browser.PostFormAsync("/people/forgotten", ("Email", "first@larkfield.example"));
        using var statements = new Statements(host);
        var work = new List<IReadOnlyList<string>>();
        foreach (var name in new[] { pupil.Email!, "nobody@larkfield.example", closed.Email!, Family, "tamsin", "nobody" })
        {
            await browser.PostFormAsync("/people/forgotten", ("Email", name));
            work.Add(statements.Take());
        }

        Assert.NotEmpty(work[0]);
        Assert.All(work, done => Assert.Equal(work[0], done));
        // What tells them apart is asked and written afterwards, where nobody waits for it.
        Assert.All(work[0], statement => Assert.DoesNotContain("people.people", statement, StringComparison.Ordinal));
        Assert.All(work[0], statement => Assert.DoesNotContain("messages.", statement, StringComparison.Ordinal));
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == Kind)));
    }

    [Fact]
    public async Task A_new_link_makes_the_older_ones_void_and_withdraws_the_letter_that_still_waits()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var open = await host.PagesAsAsync(pupil);
        using var browser = host.Browser();
        var links = new List<string>();
        for (var n = 0; n < 2; n++)
        {
            await browser.PostFormAsync("/people/forgotten", ("Email", pupil.Email!));
            await Mails.WriteResetLettersAsync(host);
            links.Add(await Mails.LinkAsync(host, pupil.Email!, Kind));
        }

        Assert.Contains("This link is over", await (await browser.GetAsync(links[0])).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Choose a new password", await (await browser.GetAsync(links[1])).TextAsync(), StringComparison.Ordinal);
        Assert.Equal([MessageState.Withdrawn, MessageState.Waiting], (await Mails.OfAsync(host, pupil.Email!, Kind)).Select(m => m.State));

        // Asking is anybody's to do, so it signs nobody out.
        Assert.Equal(HttpStatusCode.OK, (await open.GetAsync("/people/account")).StatusCode);
    }

    [Fact]
    public async Task Two_workers_write_one_letter_for_one_wish()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var browser = host.Browser();
        await browser.PostFormAsync("/people/forgotten", ("Email", pupil.Email!));
        await Task.WhenAll(Enumerable.Range(0, 6).Select(n => Mails.WriteResetLettersAsync(n % 2 == 0 ? host : second)));
        Assert.Single(await Mails.OfAsync(host, pupil.Email!, Kind));
    }

    [Fact]
    public async Task What_was_typed_is_kept_no_longer_than_it_takes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        await browser.PostFormAsync("/people/forgotten", ("Email", "nobody@larkfield.example"));
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<PasswordWish>().CountAsync()));
        await Mails.WriteResetLettersAsync(host);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<PasswordWish>().CountAsync()));
    }
}
