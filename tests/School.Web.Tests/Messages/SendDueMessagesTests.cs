using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Messages;

public sealed class SendDueMessagesTests(TestPostgres postgres)
{
    private static readonly Duration ClaimLapsed = Duration.FromMinutes(10);

    [Fact]
    public async Task Two_workers_on_each_of_two_nodes_send_each_of_a_thousand_messages_once()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        await host.AddAsync([.. Enumerable.Range(1, 1000).Select(n => Post.Reminder(host, n))]);

        await Task.WhenAll(new[] { host, host, second, second }.Select(node => Task.Run(() => Post.RunAsync(node, Post.To(server)))));

        Assert.Equal(1000, server.Letters.Count);
        Assert.Equal(1000, server.Letters.Select(l => l.MessageId).Distinct().Count());
        Assert.Equal(1000, await Post.CountAsync(host, MessageState.Sent));
    }

    [Fact]
    public async Task A_message_waits_until_it_is_due()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host, due: host.Clock.GetCurrentInstant() + Duration.FromHours(1)));

        await Post.RunAsync(host, Post.To(server));
        Assert.Empty(server.Letters);

        host.Clock.AdvanceHours(1);
        await Post.RunAsync(host, Post.To(server));
        Assert.Single(server.Letters);
    }

    [Fact]
    public async Task A_worker_that_dies_before_sending_loses_nothing_and_doubles_nothing()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host));
        var settings = Post.To(server);
        using var smtp = new SmtpMail(settings);

        await Assert.ThrowsAsync<Dying.DiedException>(() => Post.RunAsync(host, settings, new Dying(smtp, before: true, after: false)));
        await Post.RunAsync(host, settings);
        Assert.Empty(server.Letters);

        host.Clock.Advance(ClaimLapsed);
        await Post.RunAsync(host, settings);
        await Post.RunAsync(host, settings);
        Assert.Single(server.Letters);
    }

    [Fact]
    public async Task A_worker_that_dies_between_sending_and_marking_causes_one_repeat_with_the_same_Message_ID()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host));
        var settings = Post.To(server);
        using var smtp = new SmtpMail(settings);

        await Assert.ThrowsAsync<Dying.DiedException>(() => Post.RunAsync(host, settings, new Dying(smtp, before: false, after: true)));
        await Post.RunAsync(host, settings);
        Assert.Single(server.Letters);

        host.Clock.Advance(ClaimLapsed);
        await Post.RunAsync(host, settings);
        await Post.RunAsync(host, settings);
        Assert.Equal(2, server.Letters.Count);
        Assert.Single(server.Letters.Select(l => l.MessageId).Distinct());
    }

    [Fact]
    public async Task A_worker_that_dies_after_marking_causes_no_repeat()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host, 1), Post.Reminder(host, 2, due: host.Clock.GetCurrentInstant() + Duration.FromSeconds(1)));
        var settings = Post.To(server);
        await Post.RunAsync(host, settings);

        host.Clock.AdvanceSeconds(1);
        using var smtp = new SmtpMail(settings);
        await Assert.ThrowsAsync<Dying.DiedException>(() => Post.RunAsync(host, settings, new Dying(smtp, before: true, after: false)));
        host.Clock.Advance(ClaimLapsed);
        await Post.RunAsync(host, settings);

        Assert.Equal(2, server.Letters.Count);
        Assert.Equal(2, server.Letters.Select(l => l.MessageId).Distinct().Count());
    }

    [Fact]
    public async Task After_an_outage_nothing_is_sent_about_what_is_past()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        var now = host.Clock.GetCurrentInstant();
        var past = Post.Reminder(host, 1, useless: now + Duration.FromHours(24));
        var coming = Post.Reminder(host, 2, useless: now + Duration.FromHours(30));
        await host.AddAsync(past, coming);

        host.Clock.AdvanceHours(24);
        await Post.RunAsync(host, Post.To(server));

        Assert.Equal("pupil2@larkfield.example", Assert.Single(server.Letters).To.Mailboxes.Single().Address);
        Assert.Equal(MessageState.Withdrawn, (await Post.ReadAsync(host, past.Id)).State);
    }

    [Fact]
    public async Task A_withdrawn_message_is_not_sent()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        var lesson = RowId.New();
        await host.AddAsync(Post.Reminder(host, 1, about: lesson), Post.Reminder(host, 2));
        await using (var scope = host.Services.CreateAsyncScope())
        {
            await scope.ServiceProvider.GetRequiredService<Outbox>().WithdrawAsync(lesson, ["reminder"], CancellationToken.None);
        }

        await Post.RunAsync(host, Post.To(server));

        Assert.Equal("pupil2@larkfield.example", Assert.Single(server.Letters).To.Mailboxes.Single().Address);
        Assert.Equal(1, await Post.CountAsync(host, MessageState.Withdrawn));
    }

    // RFC 5321 section 4.2.1: 4yz may be tried again, 5yz must not be.
    [Theory]
    [InlineData("RCPT")]
    [InlineData("MAIL")]
    [InlineData("DATA")]
    [InlineData(SmtpListener.EndOfText)]
    public async Task A_message_that_the_server_cannot_take_now_is_tried_again_later_and_later(string at)
    {
        await using var server = new SmtpListener { Mood = c => c.StartsWith(at, StringComparison.Ordinal) ? new Trouble.Says("451 later") : null };
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);

        await Post.RunAsync(host, Post.To(server));
        var waiting = await Post.ReadAsync(host, message.Id);
        Assert.Equal(MessageState.Waiting, waiting.State);
        Assert.Equal(host.Clock.GetCurrentInstant() + Duration.FromMinutes(1), waiting.DueAt);
        Assert.Contains("451", waiting.LastProblem, StringComparison.Ordinal);

        host.Clock.AdvanceMinutes(1);
        await Post.RunAsync(host, Post.To(server));
        Assert.Equal(host.Clock.GetCurrentInstant() + Duration.FromMinutes(3), (await Post.ReadAsync(host, message.Id)).DueAt);
        Assert.Empty(server.Letters);

        server.Mood = _ => null;
        host.Clock.AdvanceMinutes(3);
        await Post.RunAsync(host, Post.To(server));
        Assert.Single(server.Letters);
    }

    [Fact]
    public async Task A_message_is_given_up_after_its_last_try()
    {
        await using var server = new SmtpListener { Mood = c => c.StartsWith("RCPT", StringComparison.Ordinal) ? new Trouble.Says("450 mailbox busy") : null };
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);
        for (var n = 0; n < SendDueMessages.Tries; n++)
        {
            Assert.Equal(MessageState.Waiting, (await Post.ReadAsync(host, message.Id)).State);
            await Post.RunAsync(host, Post.To(server));
            host.Clock.AdvanceHours(2);
        }

        Assert.Equal(MessageState.Failed, (await Post.ReadAsync(host, message.Id)).State);
    }

    [Theory]
    [InlineData("RCPT")]
    [InlineData("DATA")]
    [InlineData(SmtpListener.EndOfText)]
    public async Task A_message_that_the_server_refuses_fails_at_once_with_the_reason_and_holds_up_no_other(string at)
    {
        var first = true;
        await using var server = new SmtpListener
        {
            Mood = c => c.StartsWith(at, StringComparison.Ordinal) && first && !(first = false) ? new Trouble.Says("550 no such mailbox here") : null,
        };
        await using var host = await SchoolHost.StartAsync(postgres);
        var refused = Post.Reminder(host, 1);
        await host.AddAsync(refused, Post.Reminder(host, 2, due: host.Clock.GetCurrentInstant() + Duration.FromSeconds(1)));
        host.Clock.AdvanceSeconds(1);

        await Post.RunAsync(host, Post.To(server));

        var row = await Post.ReadAsync(host, refused.Id);
        Assert.Equal(MessageState.Failed, row.State);
        Assert.Equal("The mail server answered 550: no such mailbox here", row.LastProblem);
        Assert.Equal("pupil2@larkfield.example", Assert.Single(server.Letters).To.Mailboxes.Single().Address);
        await using var scope = host.Services.CreateAsyncScope();
        var failed = Assert.Single((await scope.ServiceProvider.GetRequiredService<MessageQueries>().GivenUpAsync(CancellationToken.None)).Failed);
        Assert.Equal((refused.Id, "Tamsin Oakley", row.LastProblem), (failed.Id, failed.ToName, failed.Reason));
    }

    public static TheoryData<string, string> Outages() => new()
    {
        { SmtpListener.Greeting, "421" },
        { SmtpListener.Greeting, "554" },
        { SmtpListener.Greeting, "hang" },
        { SmtpListener.Greeting, "cut" },
        { "MAIL", "421" },
        { "MAIL", "hang" },
        { "RCPT", "cut" },
        { "DATA", "cut" },
        { "DATA", "hang" },
    };

    /// <summary>RFC 5321 section 3.8: 421 may come at any moment, and the line is closed after it.</summary>
    [Theory]
    [MemberData(nameof(Outages))]
    public async Task A_mail_server_that_is_away_costs_one_message_a_try_and_the_others_nothing(string at, string how)
    {
        Trouble trouble = how switch { "hang" => new Trouble.Hangs(), "cut" => new Trouble.Cuts(), _ => new Trouble.Says($"{how} not available") };
        await using var server = new SmtpListener { Mood = c => c.StartsWith(at, StringComparison.Ordinal) ? trouble : null };
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host, 1), Post.Reminder(host, 2));

        await Post.RunAsync(host, Post.To(server, timeout: 1));

        Assert.Equal(2, await Post.CountAsync(host, MessageState.Waiting));
        Assert.Empty(server.Letters);
        var tries = await host.WithDbAsync(async db => { await Task.Yield(); return db.Set<Message>().Select(m => m.Tries).ToList(); });
        Assert.Equal([0, 1], tries.Order());

        server.Mood = _ => null;
        host.Clock.AdvanceMinutes(1);
        await Post.RunAsync(host, Post.To(server));
        Assert.Equal(2, server.Letters.Count);
    }

    /// <summary>The documented window: the text was handed over, the answer never came (RFC 5321 section 4.5.3.2.6).</summary>
    [Fact]
    public async Task A_line_that_breaks_after_the_text_may_repeat_the_message_with_the_same_Message_ID()
    {
        var first = true;
        await using var server = new SmtpListener { Mood = c => c == SmtpListener.EndOfText && first && !(first = false) ? new Trouble.Cuts() : null };
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host));

        await Post.RunAsync(host, Post.To(server));
        host.Clock.AdvanceMinutes(1);
        await Post.RunAsync(host, Post.To(server));

        Assert.Equal(2, server.Letters.Count);
        Assert.Single(server.Letters.Select(l => l.MessageId).Distinct());
        Assert.Equal(1, await Post.CountAsync(host, MessageState.Sent));
    }

    [Fact]
    public async Task No_server_at_all_is_an_outage_too()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);
        MailSettings settings;
        await using (var server = new SmtpListener())
        {
            settings = Post.To(server);
        }

        await Post.RunAsync(host, settings);

        var row = await Post.ReadAsync(host, message.Id);
        Assert.Equal((MessageState.Waiting, 1), (row.State, row.Tries));
        Assert.NotEmpty(row.LastProblem);
    }
}
