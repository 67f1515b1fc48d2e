using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Pupils;
using School.Web.Platform.Forms.Kept;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Forms;

/// <summary>A form that came once its sender was no longer signed in is given back to them, and to nobody else.</summary>
public sealed class KeptFormTests(TestPostgres postgres)
{
    private const string Add = "/pupils/new";
    private static readonly (string, string)[] Typed = [("Input.Name", "Linnet Vale"), ("Input.Phone", "01632 960177"), ("Input.Need", "Roundabouts, and the hill at Mill Lane")];

    [Fact]
    public async Task What_was_typed_is_shown_again_after_signing_in_and_nothing_is_carried_out_by_itself()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var person = await host.Data.OfficeAsync();
        using var office = await host.PagesAsAsync(person);
        var sent = await LateAsync(host, office, Typed);
        var kept = await host.WithDbAsync(db => db.Set<KeptForm>().AsNoTracking().SingleAsync());
        Assert.Equal(person.Id, kept.PersonId);
        Assert.DoesNotContain("Linnet", System.Text.Encoding.UTF8.GetString(kept.Fields), StringComparison.Ordinal);

        // Signing in leads to the form itself.
        var signedIn = await office.PostFormAsync(sent, ("Input.Email", person.Email!), ("Input.Password", SchoolHost.Password));
        var there = signedIn.Headers.Location!.ToString();
        Assert.Equal($"{Add}?kept={kept.Id}", there);
        var page = await (await office.GetAsync(there)).TextAsync();
        Assert.Contains("nothing has been sent yet", page, StringComparison.Ordinal);
        Assert.Contains("value=\"Linnet Vale\"", page, StringComparison.Ordinal);
        Assert.Contains("the hill at Mill Lane", page, StringComparison.Ordinal);
        Assert.DoesNotContain("class=\"problems\"", page, StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));

        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(there, Typed)).StatusCode);
        Assert.Equal("Linnet Vale", (await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync())).Name);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<KeptForm>().CountAsync()));
        Assert.DoesNotContain("value=\"Linnet", await (await office.GetAsync(there)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Nobody_else_sees_it_nor_another_page_nor_its_sender_after_an_hour()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var person = await host.Data.OfficeAsync();
        using var office = await host.PagesAsAsync(person);
        await LateAsync(host, office, Typed);
        var id = await host.WithDbAsync(db => db.Set<KeptForm>().Select(f => f.Id).SingleAsync());
        using var other = await host.PagesAsAsync(await host.Data.OfficeAsync("Corin Marsh"));
        await ShowsAsync(other, $"{Add}?kept={id}", shows: false);
        using var again = await host.PagesAsAsync(person);
        await ShowsAsync(again, $"{Add}?kept={id}", shows: true);
        await ShowsAsync(again, $"/people/instructors/new?kept={id}", shows: false);

        await host.WithDbAsync(db => db.Set<KeptForm>().ExecuteUpdateAsync(set => set.SetProperty(f => f.Fields, f => new byte[] { 1, 2, 3 })));
        await ShowsAsync(again, $"{Add}?kept={id}", shows: false);

        await LateAsync(host, again, Typed);
        var late = await host.WithDbAsync(db => db.Set<KeptForm>().OrderByDescending(f => f.KeptAt).Select(f => f.Id).FirstAsync());
        host.Clock.Advance(KeptForms.For);
        using var tooLate = await host.PagesAsAsync(person);
        await ShowsAsync(tooLate, $"{Add}?kept={late}", shows: false);
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<KeptForms>().ForgetOldAsync(CancellationToken.None);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<KeptForm>().CountAsync()));
    }

    [Fact]
    public async Task A_form_whose_token_was_made_for_somebody_else_or_changed_is_not_kept()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var other = await host.PagesAsAsync(await host.Data.OfficeAsync("Corin Marsh"));
        var (own, foreign) = (await office.FormTokenAsync(Add), await other.FormTokenAsync(Add));
        host.Clock.Advance(Duration.FromDays(40));
        foreach (var token in new[] { foreign, own[..^6] + "AAAAAA", "" })
        {
            var answer = await office.PostAsync(Add, Form([.. Typed, ("__RequestVerificationToken", token)]));
            Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
            Assert.DoesNotContain("kept", answer.Headers.Location!.ToString(), StringComparison.Ordinal);
        }

        // Without the cookie of a session that was theirs, nobody knows whose it is.
        using var nobody = host.Browser();
        Assert.DoesNotContain("kept", (await nobody.PostAsync(Add, Form([.. Typed, ("__RequestVerificationToken", own)]))).Headers.Location!.ToString(), StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<KeptForm>().CountAsync()));
    }

    [Fact]
    public async Task Passwords_and_codes_are_not_kept_and_of_one_person_the_latest_five()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var person = await host.Data.OfficeAsync();
        for (var i = 0; i < KeptForms.Most + 2; i++)
        {
            using var office = await host.PagesAsAsync(person);
            await LateAsync(host, office, [("Input.Name", $"Linnet {i}"), ("Input.Password", "four winds"), ("Code", "123456")]);
            host.Clock.Advance(Duration.FromSeconds(-40 * 86400 + 60));
        }

        var ids = await host.WithDbAsync(db => db.Set<KeptForm>().OrderBy(f => f.KeptAt).Select(f => f.Id).ToListAsync());
        Assert.Equal(KeptForms.Most, ids.Count);
        await using var scope = host.Services.CreateAsyncScope();
        host.Clock.Advance(Duration.FromDays(40));
        var form = await scope.ServiceProvider.GetRequiredService<KeptForms>().FindAsync(person.Id, ids[^1], Add, CancellationToken.None);
        Assert.Equal(["Input.Name"], form!.Keys);
        Assert.Equal($"Linnet {KeptForms.Most + 1}", form["Input.Name"].ToString());
    }

    private static async Task ShowsAsync(HttpClient browser, string page, bool shows)
    {
        var text = await (await browser.GetAsync(page)).TextAsync();
        Assert.Equal(shows, text.Contains("Linnet Vale", StringComparison.Ordinal));
        Assert.Equal(shows, text.Contains("nothing has been sent yet", StringComparison.Ordinal));
    }

    /// <summary>Opens the page, lets the session end, and sends the form: where it leads.</summary>
    private static async Task<string> LateAsync(SchoolHost host, HttpClient browser, (string, string)[] fields)
    {
        var token = await browser.FormTokenAsync(Add);
        host.Clock.Advance(Duration.FromDays(40));
        var answer = await browser.PostAsync(Add, Form([.. fields, ("__RequestVerificationToken", token)]));
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        var to = answer.Headers.Location!.ToString();
        Assert.StartsWith("/people/sign-in?next=", to, StringComparison.Ordinal);
        Assert.Contains("kept", to, StringComparison.Ordinal);
        return to;
    }

    private static FormUrlEncodedContent Form((string Name, string Value)[] fields) => new(fields.Select(f => KeyValuePair.Create(f.Name, f.Value)));
}
