using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Records;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

/// <summary>The name by which somebody signs in, changed by themselves.</summary>
public sealed class ChangeSignInNameTests(TestPostgres postgres)
{
    private const string Page = "/people/account/sign-in-name";

    [Fact]
    public async Task The_name_is_changed_with_the_password_noted_and_good_at_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var person = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var pages = await host.PagesAsAsync(person);
        Assert.Contains($"You sign in as <b>{person.Email}</b>", await pages.GetStringAsync(Page), StringComparison.Ordinal);
        var changed = await pages.PostFormAsync(Page, ("Name", "tamsin.o"), ("Present", SchoolHost.Password));
        Assert.Equal("/people/account", changed.Headers.Location?.OriginalString);
        Assert.Contains("You sign in as <b>tamsin.o</b>", await pages.GetStringAsync("/people/account"), StringComparison.Ordinal);
        Assert.Contains(
            "Changed the name to sign in with.",
            await host.WithDbAsync(db => db.Set<AuditEntry>().Where(a => a.What == "sign-in.name" && a.AboutId == person.Id).Select(a => a.Words).ToListAsync()));
        using var other = host.Browser();
        Assert.Equal(HttpStatusCode.Redirect, (await other.PostFormAsync("/people/sign-in", ("Input.Email", "TAMSIN.O"), ("Input.Password", SchoolHost.Password))).StatusCode);
        // Back to the address, which is nobody else's.
        Assert.Equal(HttpStatusCode.Redirect, (await pages.PostFormAsync(Page, ("Name", person.Email!), ("Present", SchoolHost.Password))).StatusCode);
        Assert.Equal(person.Email, await NameAsync(host, person));
    }

    [Fact]
    public async Task Names_that_are_or_look_like_anothers_and_addresses_of_others_are_refused()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.WearerAsync("Bill Marsh", "bill@larkfield.example", OfficeParts.Diary, signInName: "bill.marsh");
        var sibling = await host.Data.WearerAsync("Corin Oakley", "oakley@larkfield.example", OfficeParts.Diary, signInName: "corin.o");
        var person = await host.Data.WearerAsync("Tamsin Oakley", "oakley@larkfield.example", OfficeParts.Diary, signInName: "tamsin.o");
        using var pages = await SignedInAsync(host, "tamsin.o");
        foreach (var name in new[] { "bill.marsh", "BILL.marsh", "b1ll.marsh", "bill.rnarsh", " bill.marsh ", "c0rin.o", person.Email! })
        {
            var refused = await (await pages.PostFormAsync(Page, ("Name", name), ("Present", SchoolHost.Password))).TextAsync();
            Assert.True(refused.Contains("or with one that looks like it", StringComparison.Ordinal), name);
        }

        foreach (var name in new[] { "b\u0456ll.marsh", "", "bill@larkfield.example", "nobody@larkfield.example", "bill\u212Aey", "ab", "1tamsin" })
        {
            var refused = await (await pages.PostFormAsync(Page, ("Name", name), ("Present", SchoolHost.Password))).TextAsync();
            Assert.True(refused.Contains("id=\"Name-error\"", StringComparison.Ordinal), name);
        }

        Assert.Equal("tamsin.o", await NameAsync(host, person));
        Assert.Equal("corin.o", await NameAsync(host, sibling));
    }

    [Fact]
    public async Task Without_the_password_nothing_changes_and_nothing_is_told_of_other_names()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.WearerAsync("Bill Marsh", "bill@larkfield.example", OfficeParts.Diary, signInName: "bill.marsh");
        var person = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var pages = await host.PagesAsAsync(person);
        foreach (var name in new[] { "bill.marsh", "tamsin.o" })
        {
            var refused = await (await pages.PostFormAsync(Page, ("Name", name), ("Present", "wrong wrong wrong"))).TextAsync();
            Assert.Contains("That is not your current password", refused, StringComparison.Ordinal);
            Assert.DoesNotContain("looks like it", refused, StringComparison.Ordinal);
        }

        // What is wrong with the name itself is told in the same round.
        var both = await (await pages.PostFormAsync(Page, ("Name", "ab"), ("Present", ""))).TextAsync();
        Assert.Contains("id=\"Name-error\"", both, StringComparison.Ordinal);
        Assert.Contains("id=\"Present-error\"", both, StringComparison.Ordinal);
        Assert.Equal(person.UserName, await NameAsync(host, person));
    }

    [Fact]
    public async Task Of_two_who_take_names_that_look_alike_at_once_one_gets_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        Person[] two = [await host.Data.PersonAsync(await host.Data.PupilAsync()), await host.Data.PersonAsync(await host.Data.PupilAsync("Corin Marsh"))];
        string[] names = ["millie", "rni11ie"];
        var answers = await Task.WhenAll(two.Select(async (person, n) =>
        {
            using var pages = await host.PagesAsAsync(person);
            return (await pages.PostFormAsync(Page, ("Name", names[n]), ("Present", SchoolHost.Password))).StatusCode;
        }));
        Assert.Equal([HttpStatusCode.OK, HttpStatusCode.Redirect], answers.Order());
    }

    private static async Task<HttpClient> SignedInAsync(SchoolHost host, string name)
    {
        var browser = host.Browser();
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync("/people/sign-in", ("Input.Email", name), ("Input.Password", SchoolHost.Password))).StatusCode);
        return browser;
    }

    private static Task<string?> NameAsync(SchoolHost host, Person person) => host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == person.Id).Select(p => p.UserName).SingleAsync());
}
