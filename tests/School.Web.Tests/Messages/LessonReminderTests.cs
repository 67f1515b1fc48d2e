using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Messages;

/// <summary>From a lesson to the letters that arrive, through the API, the job and SMTP.</summary>
public sealed class LessonReminderTests(TestPostgres postgres)
{
    [Fact]
    public async Task Of_a_moved_lesson_only_the_new_reminder_arrives_and_of_a_cancelled_one_none()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var (moves, cancels) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale"));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var moved = await office.BookedAsync(moves.Id, instructor.Id, London(2026, 3, 5, 10));
        var cancelled = await office.BookedAsync(cancels.Id, instructor.Id, London(2026, 3, 5, 14));
        await (await office.MoveAsync(moved.Id(), London(2026, 3, 6, 12), etag: "*")).JsonAsync();
        await (await office.CancelAsync(cancelled.Id(), etag: "*")).JsonAsync();
        await Post.RunAsync(host, Post.To(server));
        var before = server.Letters.Count;

        // Every hour from now on, as a server that was never down would.
        for (var hour = 0; hour < 6 * 24; hour++)
        {
            host.Clock.AdvanceHours(1);
            await Post.RunAsync(host, Post.To(server));
        }

        var reminder = Assert.Single(server.Letters.Skip(before));
        Assert.Equal(moves.Email, reminder.To.Mailboxes.Single().Address);
        Assert.Contains("12:00", reminder.TextBody, StringComparison.Ordinal);
        Assert.Equal(London(2026, 3, 5, 17), Instant.FromDateTimeOffset(reminder.Date));
        Assert.Equal(2, await Post.CountAsync(host, MessageState.Withdrawn));
    }

    [Fact]
    public async Task After_an_outage_over_the_lesson_no_reminder_of_it_arrives()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await office.BookedAsync(pupil.Id, instructor.Id, London(2026, 3, 5, 10));
        await Post.RunAsync(host, Post.To(server));
        var before = server.Letters.Count;

        host.Clock.Reset(London(2026, 3, 5, 10));
        await Post.RunAsync(host, Post.To(server));

        Assert.Equal(before, server.Letters.Count);
        Assert.Equal(1, await Post.CountAsync(host, MessageState.Withdrawn));
        Assert.Equal(0, await Post.CountAsync(host, MessageState.Waiting));
    }
}
