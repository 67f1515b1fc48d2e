using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;

namespace School.Web.Tests.Messages;

/// <summary>A mail server that takes nothing for a while discards nothing; what it refuses of a message itself is for good (RFC 5321 section 4.2.1).</summary>
public sealed class ServerRefusalTests(TestPostgres postgres)
{
    private const int Many = 30;

    /// <summary>One command at a time, and several at once (RFC 2920): the answer belongs to the same command either way.</summary>
    [Theory]
    [InlineData("MAIL", "554 too many messages", false)]
    [InlineData("MAIL", "554 too many messages", true)]
    [InlineData("MAIL", "550 sender not known", true)]
    [InlineData("MAIL", "530 sign in first", false)]
    [InlineData(SmtpListener.Greeting, "554 no service", false)]
    public async Task A_server_that_takes_nothing_from_us_leaves_every_message_due(string at, string says, bool severalAtOnce)
    {
        var asked = 0;
        await using var server = Refusing(at, says, severalAtOnce, () => asked++);
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync([.. Enumerable.Range(1, Many).Select(n => Post.Reminder(host, n))]);

        await Post.RunAsync(host, Post.To(server));

        Assert.Equal((Many, 0), (await Post.CountAsync(host, MessageState.Waiting), await Post.CountAsync(host, MessageState.Failed)));
        Assert.InRange(asked, 1, 2);

        server.Mood = _ => null;
        host.Clock.AdvanceMinutes(1);
        await Post.RunAsync(host, Post.To(server));
        Assert.Equal(Many, await Post.CountAsync(host, MessageState.Sent));
    }

    [Theory]
    [InlineData("RCPT", false)]
    [InlineData("RCPT", true)]
    [InlineData("DATA", true)]
    [InlineData(SmtpListener.EndOfText, true)]
    public async Task A_refusal_of_the_receiver_or_the_text_is_for_good_whatever_its_number(string at, bool severalAtOnce)
    {
        await using var server = Refusing(at, "554 not this one", severalAtOnce, () => { });
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host, 1), Post.Reminder(host, 2));

        await Post.RunAsync(host, Post.To(server));

        Assert.Equal(2, await Post.CountAsync(host, MessageState.Failed));
    }

    [Fact]
    public async Task No_message_is_given_up_for_a_server_that_takes_nothing_for_days()
    {
        await using var server = Refusing("MAIL", "554 too many messages", false, () => { });
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);
        for (var n = 0; n < 3 * SendDueMessages.Tries; n++)
        {
            await Post.RunAsync(host, Post.To(server));
            host.Clock.AdvanceHours(2);
        }

        Assert.Equal(MessageState.Waiting, (await Post.ReadAsync(host, message.Id)).State);

        // The message's own trouble afterwards finds tries left.
        server.Mood = c => c.StartsWith("RCPT", StringComparison.Ordinal) ? new Trouble.Says("450 mailbox busy") : null;
        await Post.RunAsync(host, Post.To(server));
        Assert.Equal(MessageState.Waiting, (await Post.ReadAsync(host, message.Id)).State);
    }

    [Fact]
    public async Task A_claim_that_a_wrong_clock_made_holds_nothing_up()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        message.ClaimedUntil = host.Clock.GetCurrentInstant() + Duration.FromDays(365);
        await host.AddAsync(message);

        await Post.RunAsync(host, Post.To(server));

        Assert.Equal(MessageState.Sent, (await Post.ReadAsync(host, message.Id)).State);
    }

    [Fact]
    public async Task All_that_failed_waits_again_at_one_press_but_for_what_is_past()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var rows = await FailedAsync(host);
        var office = await host.Data.OfficeAsync();
        using var api = await host.ApiAsAsync(office);

        var answer = await api.PostAsync("/api/v1/messages/send-again", null);

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var body = await answer.Content.ReadFromJsonAsync<JsonElement>();
        Assert.Equal((3, 1), (body.GetProperty("waiting").GetInt32(), body.GetProperty("past").GetInt32()));
        foreach (var row in rows.Take(3))
        {
            var now = await Post.ReadAsync(host, row.Id);
            Assert.Equal((MessageState.Waiting, 0, host.Clock.GetCurrentInstant(), (Instant?)null), (now.State, now.Tries, now.DueAt, now.ClosedAt));
        }

        Assert.Equal(MessageState.Failed, (await Post.ReadAsync(host, rows[3].Id)).State);
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        Assert.Equal(HttpStatusCode.Forbidden, (await instructor.PostAsync("/api/v1/messages/send-again", null)).StatusCode);
    }

    [Fact]
    public async Task The_page_of_messages_has_the_press_while_something_failed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.DoesNotContain("Send all again", await (await office.GetAsync("/messages")).TextAsync(), StringComparison.Ordinal);
        await FailedAsync(host);
        Assert.Contains("3 messages were given up", await (await office.GetAsync("/messages")).TextAsync(), StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/messages")).StatusCode);

        var shown = await (await office.GetAsync("/messages")).TextAsync();
        Assert.Contains("3 messages wait to be sent again. They go within minutes. One speaks of something past and stays.", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Send all again", shown, StringComparison.Ordinal);
        Assert.Equal(3, await Post.CountAsync(host, MessageState.Waiting));
    }

    [Fact]
    public async Task Messages_that_should_have_gone_five_minutes_ago_show_in_health_and_the_node_serves_on()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host, 1), Post.Reminder(host, 2, useless: host.Clock.GetCurrentInstant() + Duration.FromMinutes(4)));
        using var anybody = host.Anonymous();
        host.Clock.AdvanceMinutes(4);
        Assert.Equal("Healthy\n", await anybody.GetStringAsync("/health/ready"));

        host.Clock.AdvanceMinutes(1);

        var answer = await anybody.GetAsync("/health/ready");
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal("Degraded\nmessages: 1 message should have gone and wait, the oldest since 2026-03-02T08:00:00Z.\n", await answer.Content.ReadAsStringAsync());
    }

    private static SmtpListener Refusing(string at, string says, bool severalAtOnce, Action asked) => new()
    {
        Mood = command =>
        {
            if (command.StartsWith(at, StringComparison.Ordinal))
            {
                asked();
                return new Trouble.Says(says);
            }

            return severalAtOnce && command.StartsWith("EHLO", StringComparison.Ordinal) ? new Trouble.Says("250-post.larkfield.example\r\n250 PIPELINING") : null;
        },
    };

    /// <summary>Three that could still be sent, and one whose lesson is past.</summary>
    private static async Task<List<Message>> FailedAsync(SchoolHost host)
    {
        var now = host.Clock.GetCurrentInstant();
        List<Message> rows = [.. Enumerable.Range(1, 4).Select(n => Post.Reminder(host, n, useless: n == 4 ? now : n == 3 ? now + Duration.FromDays(1) : null))];
        foreach (var row in rows)
        {
            (row.State, row.ClosedAt, row.Tries, row.LastProblem) = (MessageState.Failed, now, SendDueMessages.Tries, "The mail server answered 554.");
        }

        await host.AddAsync([.. rows]);
        return rows;
    }
}
