using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.Operations;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class InvitationTests(TestPostgres postgres)
{
    private const string Chosen = "four winds over larkfield";

    [Fact]
    public async Task An_instructor_is_invited_chooses_a_password_and_is_signed_in()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync("Zoë 🚗 Ashby");
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = $"/people/instructors/{instructor.Id}";
        Assert.Contains("Not invited yet", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        var sent = await office.PostFormAsync(page, $"{page}?handler=Invite");
        Assert.Equal(HttpStatusCode.Redirect, sent.StatusCode);
        Assert.Contains("no password chosen yet", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);

        var mail = Assert.Single(await Mails.OfAsync(host, instructor.Email, "invitation"));
        Assert.Contains("Hello Zoë 🚗 Ashby", mail.Text, StringComparison.Ordinal);
        Assert.Equal(host.Clock.GetCurrentInstant() + Duration.FromDays(7), mail.UselessAt);
        var link = await Mails.LinkAsync(host, instructor.Email, "invitation");
        using var browser = host.Browser();
        Assert.Contains("Welcome, Zoë 🚗 Ashby", await (await browser.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
        var accepted = await browser.PostFormAsync(link, ("Password", Chosen));
        Assert.Equal("/", accepted.Headers.Location?.OriginalString);
        Assert.Equal("/diary/day", (await browser.GetAsync("/")).Headers.Location?.OriginalString);

        using var again = host.Browser();
        var signedIn = await again.PostFormAsync("/people/sign-in", ("Input.Email", instructor.Email), ("Input.Password", Chosen));
        Assert.Equal(HttpStatusCode.Redirect, signedIn.StatusCode);
        Assert.Contains("invitation is over", await (await again.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Signs in as", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("short", "Use at least 12 characters")]
    [InlineData("", "Use at least 12 characters")]
    [InlineData("password12345", "easy to guess")]
    [InlineData("qwertyuiopasdfghjkl", "easy to guess")]
    [InlineData("aaaaaaaaaaaaaaaaaaaaaaaa", "easy to guess")]
    public async Task A_bad_password_is_refused_with_its_sentence_and_the_invitation_stays_good(string password, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var link = await InvitedPupilAsync(host);
        using var browser = host.Browser();
        var refused = await browser.PostFormAsync(link, ("Password", password));
        Assert.Equal(HttpStatusCode.OK, refused.StatusCode);
        Assert.Contains(sentence, await refused.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(link, ("Password", Chosen))).StatusCode);
    }

    [Fact]
    public async Task An_invitation_ends_after_seven_days()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var link = await InvitedPupilAsync(host);
        using var browser = host.Browser();
        host.Clock.Advance(Duration.FromDays(7) - Duration.FromSeconds(1));
        Assert.Contains("Welcome", await (await browser.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
        host.Clock.Advance(Duration.FromSeconds(1));
        Assert.Contains("invitation is over", await (await browser.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Inviting_again_withdraws_the_letter_and_the_link_of_before()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var first = await InviteAsync(host, pupil.Id, pupil.Name, pupil.Email);
        var second = await InviteAsync(host, pupil.Id, pupil.Name, "tamsin.new@larkfield.example");
        Assert.Equal(MessageState.Withdrawn, Assert.Single(await Mails.OfAsync(host, pupil.Email, "invitation")).State);
        Assert.Equal(MessageState.Waiting, Assert.Single(await Mails.OfAsync(host, "tamsin.new@larkfield.example", "invitation")).State);
        using var browser = host.Browser();
        Assert.Contains("invitation is over", await (await browser.GetAsync(first)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("tamsin.new@larkfield.example", await (await browser.GetAsync(second)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Person>().CountAsync()));
    }

    [Fact]
    public async Task Somebody_who_signs_in_already_is_not_invited()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.Data.PersonAsync(pupil);
        Assert.Equal("signs_in_already", (await TryInviteAsync(host, pupil.Id, pupil.Name, pupil.Email)).Refusal?.Code);
    }

    [Fact]
    public async Task A_closed_sign_in_opens_nothing_and_a_new_invitation_opens_it_anew()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var colleague = await host.Data.OfficeAsync("Sorrel Wick");
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var theirs = await host.PagesAsAsync(colleague);
        using var token = await host.ApiAsAsync(colleague);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/people/office", $"/people/office?handler=Close&id={colleague.Id}")).StatusCode);

        Assert.Equal(HttpStatusCode.Unauthorized, (await token.GetAsync("/api/v1/instructors")).StatusCode);
        host.Clock.Advance(Duration.FromSeconds(61));
        Assert.StartsWith("/people/sign-in", (await theirs.GetAsync("/people/office")).Headers.Location?.OriginalString, StringComparison.Ordinal);
        using var browser = host.Browser();
        var refused = await browser.PostFormAsync("/people/sign-in", ("Input.Email", colleague.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Contains("do not go together", await refused.TextAsync(), StringComparison.Ordinal);
        await browser.PostFormAsync("/people/forgotten", ("Email", colleague.Email!));
        await Mails.WriteResetLettersAsync(host);
        Assert.Empty(await Mails.OfAsync(host, colleague.Email!, "password-reset"));

        await office.PostFormAsync("/people/office", "/people/office?handler=Invite", ("Name", "Sorrel Wick"), ("Email", colleague.Email!), ("Parts.Diary", "true"));
        var link = await Mails.LinkAsync(host, colleague.Email!, "invitation");
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(link, ("Password", Chosen))).StatusCode);
        Assert.Equal("/diary/board", (await browser.GetAsync("/")).Headers.Location?.OriginalString);
    }

    [Fact]
    public async Task Nobody_closes_their_own_sign_in_and_the_last_of_the_office_stays()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var only = await host.Data.OfficeAsync();
        using var office = await host.PagesAsAsync(only);
        var own = await office.PostFormAsync("/people/office", $"/people/office?handler=Close&id={only.Id}");
        Assert.Contains("You cannot close your own sign-in", await own.TextAsync(), StringComparison.Ordinal);

        await using var scope = host.Services.CreateAsyncScope();
        var last = await scope.ServiceProvider.GetRequiredService<CloseSignIn>().RunAsync(Viewer.Service, only.Id, CancellationToken.None);
        Assert.Equal("last_settings_holder", last.Refusal?.Code);
    }

    [Theory]
    [InlineData("", "somebody@larkfield.example", "Enter a name")]
    [InlineData("Sorrel Wick", "no address", "does not look like an e-mail address")]
    public async Task A_bad_invitation_says_what_is_wrong_and_keeps_what_was_typed(string name, string email, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var text = await (await office.PostFormAsync("/people/office", "/people/office?handler=Invite", ("Name", name), ("Email", email))).TextAsync();
        Assert.Contains(sentence, text, StringComparison.Ordinal);
        Assert.Contains($"value=\"{email}\"", text, StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Person>().CountAsync()));
    }

    [Fact]
    public async Task The_command_invites_the_first_of_the_office()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        Assert.Equal(0, await AddOfficeCommand.RunAsync(host.Services, ["first@larkfield.example", "Rosalind", "Pike"]));
        var link = await Mails.LinkAsync(host, "first@larkfield.example", "invitation");
        using var browser = host.Browser();
        Assert.Contains("Welcome, Rosalind Pike", await (await browser.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1, await AddOfficeCommand.RunAsync(host.Services, ["first", "Rosalind"]));
        Assert.Equal(2, await AddOfficeCommand.RunAsync(host.Services, ["first@larkfield.example"]));
    }

    private static async Task<string> InvitedPupilAsync(SchoolHost host)
    {
        var pupil = await host.Data.PupilAsync();
        return await InviteAsync(host, pupil.Id, pupil.Name, pupil.Email);
    }

    private static async Task<string> InviteAsync(SchoolHost host, Guid pupil, string name, string email)
    {
        var invited = await TryInviteAsync(host, pupil, name, email);
        Assert.Equal(SignInState.Invited, invited.Value?.State);
        return await Mails.LinkAsync(host, email, "invitation");
    }

    private static async Task<Outcome<SignInCard>> TryInviteAsync(SchoolHost host, Guid pupil, string name, string email)
    {
        await using var scope = host.Services.CreateAsyncScope();
        return await scope.ServiceProvider.GetRequiredService<SignIns>().InvitePupilAsync(Viewer.Service, pupil, name, email, CancellationToken.None);
    }
}
