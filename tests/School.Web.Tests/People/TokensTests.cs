using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class TokensTests(TestPostgres postgres)
{
    private const string Tokens = "/api/v1/tokens";

    [Fact]
    public async Task A_token_opens_the_api_until_it_ends()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous();
        var made = await api.PostAsJsonAsync(Tokens, new { email = office.Email!.ToUpperInvariant(), password = SchoolHost.Password });
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var body = await made.JsonAsync();
        Assert.Equal("2026-03-09T08:00:00Z", body.GetProperty("expiresAt").GetString());
        Bear(api, body.GetProperty("token").GetString()!);
        Assert.Equal(HttpStatusCode.OK, (await api.GetAsync("/api/v1/instructors")).StatusCode);

        host.Clock.Advance(Duration.FromDays(7) - Duration.FromSeconds(1));
        Assert.Equal(HttpStatusCode.OK, (await api.GetAsync("/api/v1/instructors")).StatusCode);
        host.Clock.Advance(Duration.FromSeconds(1));
        var late = await api.GetAsync("/api/v1/instructors");
        Assert.Equal(HttpStatusCode.Unauthorized, late.StatusCode);
        Assert.Equal("not_signed_in", await late.CodeAsync());
    }

    [Fact]
    public async Task A_token_of_a_pupil_lives_a_month()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var api = host.Anonymous();
        var made = await (await api.PostAsJsonAsync(Tokens, new { email = pupil.Email, password = SchoolHost.Password })).JsonAsync();
        Assert.Equal("2026-04-01T08:00:00Z", made.GetProperty("expiresAt").GetString());
    }

    [Fact]
    public async Task A_token_has_a_name_and_a_scope_that_the_list_tells()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous();
        await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password });
        var made = await (await api.PostAsJsonAsync(
            Tokens, new { email = office.Email, password = SchoolHost.Password, name = "  evening\u0007 export ", scope = "read" })).JsonAsync();
        Bear(api, made.GetProperty("token").GetString()!);
        var list = (await (await api.GetAsync(Tokens)).JsonAsync()).GetProperty("items");
        Assert.Equal(["evening export", "read"], [list[0].GetProperty("name").GetString(), list[0].GetProperty("scope").GetString()]);
        Assert.Equal(["", "full"], [list[1].GetProperty("name").GetString(), list[1].GetProperty("scope").GetString()]);
        using var browser = await host.PagesAsAsync(office);
        var page = await (await browser.GetAsync("/people/account/sessions")).TextAsync();
        Assert.Contains("evening export", page, StringComparison.Ordinal);
        Assert.Contains("reads only", page, StringComparison.Ordinal);

        var wrong = await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password, name = new string('x', 81) });
        Assert.Equal(["name"], await wrong.WrongFieldsAsync());
        var unknown = await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password, scope = "write" });
        Assert.Equal(["scope"], await unknown.WrongFieldsAsync());
    }

    [Fact]
    public async Task A_token_that_reads_only_changes_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous();
        var made = await (await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password, scope = "read" })).JsonAsync();
        Bear(api, made.GetProperty("token").GetString()!);
        Assert.Equal(HttpStatusCode.OK, (await api.GetAsync("/api/v1/instructors")).StatusCode);
        var id = (await (await api.GetAsync(Tokens)).JsonAsync()).GetProperty("items")[0].GetProperty("id").GetString();
        foreach (var (method, url) in new[]
        {
            (HttpMethod.Post, "/api/v1/instructors"), (HttpMethod.Put, $"/api/v1/instructors/{Guid.NewGuid()}"), (HttpMethod.Delete, $"{Tokens}/{id}"),
        })
        {
            var refused = await api.SendAsync(method, url, new { });
            Assert.Equal(HttpStatusCode.Forbidden, refused.StatusCode);
            Assert.Equal("token_reads_only", await refused.CodeAsync());
        }

        Assert.Equal(HttpStatusCode.OK, (await api.GetAsync("/api/v1/instructors")).StatusCode);
    }

    [Fact]
    public async Task Wrong_password_unknown_account_and_closed_account_answer_alike()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        var closed = await host.Data.PersonAsync(await host.Data.PupilAsync());
        await host.WithDbAsync(async db =>
        {
            db.Attach(closed).Entity.Closed = true;
            return await db.SaveChangesAsync();
        });
        using var api = host.Anonymous();
        var answers = new List<string>();
        foreach (var (email, password) in new[]
        {
            (office.Email, "not the password of anybody"), ("nobody@larkfield.example", SchoolHost.Password), (closed.Email, SchoolHost.Password),
        })
        {
            var answer = await api.PostAsJsonAsync(Tokens, new { email, password });
            Assert.Equal(HttpStatusCode.Unauthorized, answer.StatusCode);
            var body = await answer.JsonAsync();
            answers.Add($"{body.GetProperty("code")} {body.GetProperty("detail")} {body.GetProperty("title")}");
        }

        Assert.Single(answers.Distinct());
        Assert.StartsWith("wrong_sign_in", answers[0], StringComparison.Ordinal);
    }

    [Fact]
    public async Task Missing_members_are_named()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = host.Anonymous();
        Assert.Equal(["email", "password"], await (await api.PostAsJsonAsync(Tokens, new { email = " " })).WrongFieldsAsync());
    }

    [Fact]
    public async Task Ten_wrong_tries_close_an_account_for_the_rest_of_the_window_over_two_nodes_together()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var office = await host.Data.OfficeAsync();
        using var one = host.Anonymous();
        using var two = second.Anonymous();
        var wrong = await Task.WhenAll(Enumerable.Range(0, 12).Select(
            n => (n % 2 == 0 ? one : two).PostAsJsonAsync(Tokens, new { email = office.Email, password = "wrong wrong wrong" })));
        Assert.Equal(10, wrong.Count(a => a.StatusCode == HttpStatusCode.Unauthorized));
        Assert.Equal(2, wrong.Count(a => a.StatusCode == HttpStatusCode.TooManyRequests));

        // Also the right password does not tell whether it is right now.
        var right = await two.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password });
        Assert.Equal(HttpStatusCode.TooManyRequests, right.StatusCode);
        Assert.Equal("too_many_tries", await right.CodeAsync());
        Assert.Equal(TimeSpan.FromMinutes(15), right.Headers.RetryAfter?.Delta);

        host.Clock.Advance(CheckPassword.Window);
        Assert.Equal(HttpStatusCode.Created, (await one.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password })).StatusCode);
    }

    [Fact]
    public async Task Fifty_wrong_tries_from_one_address_close_it_for_every_account()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous();
        for (var n = 0; n < CheckPassword.MostPerNetwork; n++)
        {
            await api.PostAsJsonAsync(Tokens, new { email = $"guess{n}@larkfield.example", password = "wrong wrong wrong" });
        }

        var answer = await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password });
        Assert.Equal(HttpStatusCode.TooManyRequests, answer.StatusCode);
    }

    [Fact]
    public async Task Signing_in_rightly_many_times_is_no_attack()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var api = host.Anonymous();
        for (var n = 0; n < CheckPassword.MostPerAccount + 5; n++)
        {
            Assert.Equal(HttpStatusCode.Created, (await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password })).StatusCode);
        }
    }

    [Fact]
    public async Task With_the_second_step_on_a_code_is_needed_and_each_code_is_good_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        var secret = await SecondStepOnAsync(host, office);
        using var api = host.Anonymous();
        var without = await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password });
        Assert.Equal(HttpStatusCode.Unauthorized, without.StatusCode);
        Assert.Equal("code_needed", await without.CodeAsync());

        var step = Totp.StepOf(host.Clock.GetCurrentInstant());
        async Task<HttpResponseMessage> With(long at) =>
            await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password, code = Totp.Code(secret, at) });
        Assert.Equal("wrong_code", await (await With(step - 2)).CodeAsync());
        Assert.Equal("wrong_code", await (await With(step + 2)).CodeAsync());
        Assert.Equal(HttpStatusCode.Created, (await With(step)).StatusCode);
        Assert.Equal("wrong_code", await (await With(step)).CodeAsync());
        Assert.Equal("wrong_code", await (await With(step - 1)).CodeAsync());
        Assert.Equal(HttpStatusCode.Created, (await With(step + 1)).StatusCode);
    }

    [Fact]
    public async Task One_code_sent_twenty_times_at_once_over_two_nodes_opens_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var office = await host.Data.OfficeAsync();
        var code = Totp.Code(await SecondStepOnAsync(host, office), Totp.StepOf(host.Clock.GetCurrentInstant()));
        using var one = host.Anonymous();
        using var two = second.Anonymous();
        var answers = await Task.WhenAll(Enumerable.Range(0, 8).Select(
            n => (n % 2 == 0 ? one : two).PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password, code })));
        Assert.Equal(1, answers.Count(a => a.StatusCode == HttpStatusCode.Created));
    }

    [Fact]
    public async Task Staff_without_a_second_step_get_no_token_where_it_is_required()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:StaffSecondStep", "required"));
        var office = await host.Data.OfficeAsync();
        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var api = host.Anonymous();
        var staff = await api.PostAsJsonAsync(Tokens, new { email = office.Email, password = SchoolHost.Password });
        Assert.Equal("second_step_missing", await staff.CodeAsync());
        Assert.Equal(HttpStatusCode.Created, (await api.PostAsJsonAsync(Tokens, new { email = pupil.Email, password = SchoolHost.Password })).StatusCode);

        // A token from before the rule opens nothing either.
        using var old = await host.ApiAsAsync(office);
        Assert.Equal(HttpStatusCode.Forbidden, (await old.GetAsync("/api/v1/instructors")).StatusCode);
    }

    [Fact]
    public async Task People_list_and_end_their_own_tokens_and_nobody_elses()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var mine = await host.ApiAsAsync(office);
        using var alsoMine = await host.ApiAsAsync(office);
        using var other = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var list = (await (await mine.GetAsync(Tokens)).JsonAsync()).GetProperty("items");
        Assert.Equal(2, list.GetArrayLength());
        Assert.Equal(["id", "name", "scope", "createdAt", "expiresAt", "lastUsedAt"], list[0].EnumerateObject().Select(m => m.Name));
        var newest = list[0].GetProperty("id").GetString();

        Assert.Equal(HttpStatusCode.NotFound, (await other.DeleteAsync($"{Tokens}/{newest}")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await alsoMine.GetAsync(Tokens)).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await mine.DeleteAsync($"{Tokens}/{newest}")).StatusCode);
        Assert.Equal(HttpStatusCode.Unauthorized, (await alsoMine.GetAsync(Tokens)).StatusCode);
        Assert.Equal(1, (await (await mine.GetAsync(Tokens)).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task The_token_itself_is_not_kept()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var token = await host.TokenAsync(await host.Data.OfficeAsync());
        var rows = await host.WithDbAsync(db => Task.FromResult(db.Set<ApiToken>().Single()));
        Assert.Equal(32, rows.Hash.Length);
        Assert.DoesNotContain(token[..16], Convert.ToHexStringLower(rows.Hash), StringComparison.Ordinal);
    }

    /// <summary>Turns the second step on and returns the secret that an authenticator would hold.</summary>
    internal static async Task<byte[]> SecondStepOnAsync(SchoolHost host, Person person)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var people = scope.ServiceProvider.GetRequiredService<UserManager<Person>>();
        var row = (await people.FindByIdAsync(person.Id.ToString()))!;
        await people.ResetAuthenticatorKeyAsync(row);
        await people.SetTwoFactorEnabledAsync(row, true);
        return Totp.FromBase32((await people.GetAuthenticatorKeyAsync(row))!);
    }

    private static void Bear(HttpClient client, string token) => client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
}
