using System.Net;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Tests.Host;

namespace School.Web.Tests.Messages;

public sealed class MessagesPagesTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_office_reads_what_went_to_the_folder()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("Mail:Folder", folder.Path));
        var message = Post.Reminder(host, name: "Zoë 🚗 شهرزاد");
        await host.AddAsync(message);
        await Post.RunAsync(host, new(), new FolderMail(folder.Path));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());

        var list = await (await office.GetAsync("/messages")).TextAsync();
        Assert.Contains("Zoë 🚗 شهرزاد", list, StringComparison.Ordinal);
        Assert.Contains("Sent", list, StringComparison.Ordinal);
        Assert.Contains(folder.Path, list, StringComparison.Ordinal);
        Assert.Contains($"href=\"/messages/{message.Id}\"", list, StringComparison.Ordinal);
        var whole = await (await office.GetAsync($"/messages/{message.Id}")).TextAsync();
        Assert.Contains("Your lesson is tomorrow at 10:00.", whole, StringComparison.Ordinal);
        Assert.Single(Directory.GetFiles(folder.Path, $"{message.Id}.eml"));
    }

    [Fact]
    public async Task The_list_shows_one_state_and_leads_to_older_messages()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync([.. Enumerable.Range(1, 51).Select(n => Post.Reminder(host, n, subject: $"Reminder {n:00}"))]);
        var failed = Post.Reminder(host, 99, subject: "Given up");
        (failed.State, failed.ClosedAt) = (MessageState.Failed, host.Clock.GetCurrentInstant());
        await host.AddAsync(failed);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());

        var onlyFailed = await (await office.GetAsync("/messages?state=failed")).TextAsync();
        Assert.Contains("Given up", onlyFailed, StringComparison.Ordinal);
        Assert.DoesNotContain("Reminder 01", onlyFailed, StringComparison.Ordinal);
        var first = await (await office.GetAsync("/messages")).TextAsync();
        var older = System.Text.RegularExpressions.Regex.Match(first, "href=\"([^\"]+)\" rel=\"next\"").Groups[1].Value;
        var rest = await (await office.GetAsync(older)).TextAsync();
        // Each of the fifty-two once, on one page or the other.
        Assert.Equal((50, 2), (Subjects(first).Count, Subjects(rest).Count));
        Assert.Equal(52, Subjects(first).Union(Subjects(rest)).Count());
    }

    /// <summary>What our content security policy would block: script in the page, and handlers or styles as attributes.</summary>
    [Fact]
    public async Task The_page_of_jobs_has_no_script_or_style_of_its_own_in_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var page in new[] { "", "/recurring", "/servers", "/retries", "/jobs/enqueued", "/jobs/succeeded", "/jobs/failed" })
        {
            var html = await office.GetStringAsync($"/hangfire{page}");
            Assert.DoesNotMatch("<script(?![^>]*\\ssrc=)[^>]*>|<style|<[a-z]+[^>]*\\s(on[a-z]+|style)=", html);
        }
    }

    [Fact]
    public async Task A_failed_message_says_why_and_is_sent_again_by_a_button()
    {
        await using var server = new SmtpListener { Mood = c => c.StartsWith("RCPT", StringComparison.Ordinal) ? new Trouble.Says("550 no such mailbox") : null };
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);
        await Post.RunAsync(host, Post.To(server));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = $"/messages/{message.Id}";
        Assert.Contains("550: no such mailbox", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page)).StatusCode);

        var shown = await (await office.GetAsync(page)).TextAsync();
        Assert.Contains("waits to be sent again", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Send again", shown, StringComparison.Ordinal);
        Assert.Equal((MessageState.Waiting, 0), ((await Post.ReadAsync(host, message.Id)).State, (await Post.ReadAsync(host, message.Id)).Tries));
    }

    [Fact]
    public async Task A_link_that_signs_somebody_in_is_not_shown_once_a_mail_server_carries_it()
    {
        await using var host = await SchoolHost.StartAsync(
            postgres, settings: [("Mail:Host", "127.0.0.1"), ("Mail:Security", "none"), ("Mail:From", "post@larkfield.example")]);
        var plain = Post.Reminder(host, 1);
        var invitation = Post.Reminder(host, 2, text: "Follow https://localhost/people/accept?token=secret", kind: SignInMessages.Invitation);
        await host.AddAsync(plain, invitation);
        var person = await host.Data.OfficeAsync();
        using var office = await host.PagesAsAsync(person);
        using var api = await host.ApiAsAsync(person);

        Assert.Contains("Your lesson is tomorrow", await (await office.GetAsync($"/messages/{plain.Id}")).TextAsync(), StringComparison.Ordinal);
        Assert.DoesNotContain("token=secret", await (await office.GetAsync($"/messages/{invitation.Id}")).TextAsync(), StringComparison.Ordinal);
        Assert.DoesNotContain("token=secret", await api.GetStringAsync($"/api/v1/messages/{invitation.Id}"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_link_that_signs_somebody_in_is_read_on_the_page_where_no_mail_server_carries_it_and_never_by_a_token()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var invitation = Post.Reminder(host, text: "Follow https://localhost/people/accept?token=secret", kind: SignInMessages.Invitation);
        await host.AddAsync(invitation);
        var person = await host.Data.OfficeAsync();
        using var office = await host.PagesAsAsync(person);
        using var api = await host.ApiAsAsync(person);

        Assert.Contains("token=secret", await (await office.GetAsync($"/messages/{invitation.Id}")).TextAsync(), StringComparison.Ordinal);
        Assert.DoesNotContain("token=secret", await api.GetStringAsync($"/api/v1/messages/{invitation.Id}"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Script_in_a_message_is_shown_as_text()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host, name: "<script>alert(1)</script>", subject: "<img src=x>", text: "<script>alert(2)</script>\n");
        await host.AddAsync(message);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());

        foreach (var page in new[] { "/messages", $"/messages/{message.Id}" })
        {
            var html = await office.GetStringAsync(page);
            Assert.DoesNotContain("<script>alert", html, StringComparison.Ordinal);
            Assert.DoesNotContain("<img src=x>", html, StringComparison.Ordinal);
        }
    }

    [Theory]
    [InlineData("/messages")]
    [InlineData("/hangfire")]
    [InlineData("/hangfire/recurring")]
    public async Task Messages_and_jobs_are_the_offices_alone(string page)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var instructor = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        using var pupil = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        using var nobody = host.Browser();

        Assert.Equal(HttpStatusCode.OK, (await office.GetAsync(page)).StatusCode);
        Assert.Contains("/people/not-allowed", (await instructor.GetAsync(page)).Headers.Location?.ToString(), StringComparison.Ordinal);
        Assert.Contains("/people/not-allowed", (await pupil.GetAsync(page)).Headers.Location?.ToString(), StringComparison.Ordinal);
        Assert.Contains("/people/sign-in", (await nobody.GetAsync(page)).Headers.Location?.ToString(), StringComparison.Ordinal);
    }

    private static HashSet<string> Subjects(string html) =>
        [.. System.Text.RegularExpressions.Regex.Matches(html, "<a href=\"/messages/[0-9a-f-]{36}\">([^<]+)</a>").Select(m => m.Groups[1].Value)];
}
