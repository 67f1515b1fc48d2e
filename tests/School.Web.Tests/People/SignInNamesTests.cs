using System.Net;
using System.Net.Http.Json;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Core.People;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

/// <summary>The address is where letters go; the name is who somebody is.</summary>
public sealed partial class SignInNamesTests(TestPostgres postgres)
{
    private const string Chosen = "four winds over larkfield";
    private const string Family = "oakley@larkfield.example";

    [Fact]
    public async Task Siblings_with_one_address_are_both_invited_and_each_signs_in_as_themselves()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (first, second) = (await OfFamilyAsync(host, "Tamsin Oakley"), await OfFamilyAsync(host, "Corin Oakley"));
        var (linkOfFirst, linkOfSecond) = (await InviteAsync(host, first), await InviteAsync(host, second));
        using var one = host.Browser();
        Assert.Contains($"sign in with {Family}", await PlainAsync(one, linkOfFirst), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await one.PostFormAsync(linkOfFirst, ("Password", Chosen))).StatusCode);

        using var other = host.Browser();
        var page = await (await other.GetAsync(linkOfSecond)).TextAsync();
        Assert.Contains("cannot be your sign-in name", page, StringComparison.Ordinal);
        Assert.Contains("value=\"corin.oakley\"", page, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await other.PostFormAsync(linkOfSecond, ("SignInName", "Corin.O"), ("Password", "five stones under larkfield"))).StatusCode);

        // By page and by token, whatever the case; the address is the first one's name still.
        Assert.Equal("Corin Oakley", await WhoAsync(host, "corin.o", "five stones under larkfield"));
        Assert.Equal("Corin Oakley", await WhoAsync(host, "CORIN.O", "five stones under larkfield"));
        Assert.Equal("Tamsin Oakley", await WhoAsync(host, Family, Chosen));
        using var browser = host.Browser();
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync("/people/sign-in", ("Input.Email", "corin.o"), ("Input.Password", "five stones under larkfield"))).StatusCode);
        Assert.Contains("You sign in as <b>Corin.O</b>; letters go to oakley@larkfield.example.", await (await browser.GetAsync("/people/account")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_name_that_is_or_looks_like_anothers_is_refused_with_what_is_wrong_with_the_password()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.WearerAsync("Bill Marsh", "bill@larkfield.example", OfficeParts.Diary, signInName: "bill.marsh");
        await host.Data.WearerAsync("Wren Castellan", "wren@larkfield.example", OfficeParts.Diary, signInName: "wren_c");
        await host.Data.WearerAsync("Tamsin Oakley", Family, OfficeParts.Diary);
        var link = await InviteAsync(host, await OfFamilyAsync(host, "Corin Oakley"));
        using var browser = host.Browser();
        foreach (var name in new[] { "bill.marsh", "BILL.marsh", "b1ll.marsh", "bill.rnarsh", " bill.marsh ", "bill-marsh", "BILL_rnarsh", "vvren_c", "wren.c", "VVREN-C" })
        {
            var refused = await (await browser.PostFormAsync(link, ("SignInName", name), ("Password", "short"))).TextAsync();
            Assert.Contains("or with one that looks like it", refused, StringComparison.Ordinal);
            Assert.Contains("Use at least 12 characters", refused, StringComparison.Ordinal);
        }

        foreach (var name in new[] { "b\u0456ll.marsh", "", Family, "bill\u212Aey" })
        {
            Assert.Contains("id=\"SignInName-error\"", await (await browser.PostFormAsync(link, ("SignInName", name), ("Password", Chosen))).TextAsync(), StringComparison.Ordinal);
        }

        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(link, ("SignInName", "corin"), ("Password", Chosen))).StatusCode);
    }

    [Fact]
    public async Task Of_two_who_take_names_that_look_alike_at_once_one_gets_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.WearerAsync("Tamsin Oakley", Family, OfficeParts.Diary);
        string[] links = [await InviteAsync(host, await OfFamilyAsync(host, "Corin Oakley")), await InviteAsync(host, await OfFamilyAsync(host, "Perrin Oakley"))];
        string[] names = ["millie", "rni11ie"];
        var answers = await Task.WhenAll(links.Select(async (link, n) =>
        {
            using var browser = host.Browser();
            return (await browser.PostFormAsync(link, ("SignInName", names[n]), ("Password", Chosen))).StatusCode;
        }));
        Assert.Equal([HttpStatusCode.OK, HttpStatusCode.Redirect], answers.Order());
    }

    [Fact]
    public async Task The_database_and_the_rule_agree_on_what_names_look_like()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        // What the index itself computes, by which names are looked up.
        var rule = await host.WithDbAsync(db => db.Database.SqlQuery<string>(
            $"SELECT pg_get_expr(indexprs, indrelid) AS \"Value\" FROM pg_index WHERE indexrelid = 'people.people_user_name_look'::regclass").SingleAsync());
        foreach (var name in new[] { "MILLIE", "O1L0.M-N_I", "RNM", "VALE.WALE", "TAMSIN@LARKFIELD.EXAMPLE" })
        {
#pragma warning disable EF1002 // The expression is the database's own.
            var look = await host.WithDbAsync(db => db.Database.SqlQueryRaw<string>(
                $"SELECT {rule} AS \"Value\" FROM (SELECT {{0}}::varchar AS normalized_user_name) AS typed", name).SingleAsync());
#pragma warning restore EF1002
            Assert.Equal(SignInName.Look(name), look);
        }
    }

    [Fact]
    public async Task Who_forgot_gets_one_letter_with_a_link_for_each_of_the_address()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.WearerAsync("Tamsin Oakley", Family, OfficeParts.Diary);
        await host.Data.WearerAsync("Corin Oakley", Family, OfficeParts.Diary, signInName: "corin.o");
        // Who has yet to choose a name, and who is closed, have no password to forget.
        await InviteAsync(host, await OfFamilyAsync(host, "Perrin Oakley"));
        var closed = await host.Data.WearerAsync("Linnet Oakley", Family, OfficeParts.Diary, signInName: "linnet");
        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == closed.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));

        using var browser = host.Browser();
        await browser.PostFormAsync("/people/forgotten", ("Email", Family.ToUpperInvariant()));
        await Mails.WriteResetLettersAsync(host);
        var letter = Assert.Single(await Mails.OfAsync(host, Family, "password-reset"));
        Assert.Contains($"Tamsin Oakley ({Family})", letter.Text, StringComparison.Ordinal);
        Assert.Contains("Corin Oakley (corin.o)", letter.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("Perrin", letter.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("Linnet", letter.Text, StringComparison.Ordinal);
        var links = Link().Matches(letter.Text).Select(match => match.Groups[1].Value).ToList();
        Assert.Equal(2, links.Count);
        Assert.Equal("/people/sign-in", (await browser.PostFormAsync(links[1], ("Password", Chosen))).Headers.Location?.OriginalString);
        Assert.Equal("Corin Oakley", await WhoAsync(host, "corin.o", Chosen));
        Assert.Equal("Tamsin Oakley", await WhoAsync(host, Family, SchoolHost.Password));

        // By a name it is for that one alone, at their own address.
        await browser.PostFormAsync("/people/forgotten", ("Email", "corin.o"));
        await Mails.WriteResetLettersAsync(host);
        Assert.Single(Link().Matches((await Mails.OfAsync(host, Family, "password-reset"))[^1].Text));
    }

    [Fact]
    public async Task An_outsider_is_told_the_same_of_a_name_an_address_of_several_and_one_of_nobody()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.WearerAsync("Tamsin Oakley", Family, OfficeParts.Diary, signInName: "tamsin");
        await host.Data.WearerAsync("Corin Oakley", Family, OfficeParts.Diary, signInName: "corin");
        using var browser = host.Browser();
        var forgotten = new HashSet<string>();
        var wrong = new HashSet<string>();
        foreach (var name in new[] { Family, "tamsin", "nobody@larkfield.example", "nobody", "t\u0430msin" })
        {
            Assert.Equal("/people/sign-in", (await browser.PostFormAsync("/people/forgotten", ("Email", name))).Headers.Location?.OriginalString);
            forgotten.Add(DoneLine().Match(await (await browser.GetAsync("/people/sign-in")).TextAsync()).Value);
            using var anonymous = host.Anonymous();
            var answer = await anonymous.PostAsJsonAsync("/api/v1/tokens", new { email = name, password = "wrong wrong wrong" });
            wrong.Add($"{answer.StatusCode} {(await answer.JsonAsync(HttpStatusCode.Unauthorized)).GetProperty("detail")}");
        }

        Assert.Single(forgotten);
        Assert.Single(wrong);
    }

    [Fact]
    public async Task The_address_of_several_is_nobodys_name_unless_one_of_them_took_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.WearerAsync("Tamsin Oakley", Family, OfficeParts.Diary, signInName: "tamsin");
        Assert.Equal("Tamsin Oakley", await WhoAsync(host, Family, SchoolHost.Password));
        await host.Data.WearerAsync("Corin Oakley", Family, OfficeParts.Diary, signInName: "corin");
        using var anonymous = host.Anonymous();
        Assert.Equal(HttpStatusCode.Unauthorized, (await anonymous.PostAsJsonAsync("/api/v1/tokens", new { email = Family, password = SchoolHost.Password })).StatusCode);
        Assert.Equal("Tamsin Oakley", await WhoAsync(host, "tamsin", SchoolHost.Password));
    }

    private static async Task<Pupil> OfFamilyAsync(SchoolHost host, string name)
    {
        var pupil = await host.Data.PupilAsync(name);
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, Family)));
        return pupil;
    }

    private static async Task<string> InviteAsync(SchoolHost host, Pupil pupil)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var invited = await scope.ServiceProvider.GetRequiredService<SignIns>().InvitePupilAsync(Viewer.Service, pupil.Id, pupil.Name, Family, CancellationToken.None);
        Assert.Equal(SignInState.Invited, invited.Value?.State);
        return await Mails.LinkAsync(host, Family, "invitation");
    }

    /// <summary>Who a token of this name and password is for.</summary>
    private static async Task<string> WhoAsync(SchoolHost host, string name, string password)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var proven = await scope.ServiceProvider.GetRequiredService<CheckPassword>().RunAsync(name, password, new($"network {Guid.NewGuid()}", new Dictionary<Guid, Guid>()), CancellationToken.None);
        using var anonymous = host.Anonymous();
        Assert.Equal(HttpStatusCode.Created, (await anonymous.PostAsJsonAsync("/api/v1/tokens", new { email = name, password, name = "evening export" })).StatusCode);
        return proven.Value!.Viewer.Name;
    }

    private static async Task<string> PlainAsync(HttpClient browser, string url) => Tag().Replace(await (await browser.GetAsync(url)).TextAsync(), "");

    [GeneratedRegex(@"https://localhost(/\S+)")]
    private static partial Regex Link();

    [GeneratedRegex("<p class=\"done\">.*?</p>", RegexOptions.Singleline)]
    private static partial Regex DoneLine();

    [GeneratedRegex("</?b>")]
    private static partial Regex Tag();
}
