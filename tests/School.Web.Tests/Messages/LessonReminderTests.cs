using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
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
        var moved = await office.BookedAsync(moves.Id, instructor.Id, London(2026, 3, 9, 10));
        var cancelled = await office.BookedAsync(cancels.Id, instructor.Id, London(2026, 3, 9, 14));
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
        Assert.Equal(London(2026, 3, 3, 12), Instant.FromDateTimeOffset(reminder.Date));
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
        await office.BookedAsync(pupil.Id, instructor.Id, London(2026, 3, 9, 10));
        await Post.RunAsync(host, Post.To(server));
        var before = server.Letters.Count;

        host.Clock.Reset(London(2026, 3, 9, 10));
        await Post.RunAsync(host, Post.To(server));

        Assert.Equal(before, server.Letters.Count);
        Assert.Equal(1, await Post.CountAsync(host, MessageState.Withdrawn));
        Assert.Equal(0, await Post.CountAsync(host, MessageState.Waiting));
    }

    // Free to move until 48 hours before (the settings of a school; its own choice): the reminder goes 24 hours before that, between 9 and 20.
    [Theory]
    [InlineData(10, 14, 0, 7, 14, 0)]
    [InlineData(10, 8, 0, 7, 9, 0)] // eight in the morning is put to nine
    [InlineData(10, 20, 30, 7, 20, 0)] // half past eight in the evening to eight
    [InlineData(31, 10, 0, 28, 9, 0)] // 72 hours over the change of the clocks are nine o'clock
    public async Task The_reminder_goes_while_the_lesson_can_still_be_moved_free_and_never_at_night(int day, int hour, int minute, int dueDay, int dueHour, int dueMinute)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<WorkingHoursRow>().ExecuteUpdateAsync(
            set => set.SetProperty(h => h.Start, new LocalTime(7, 0)).SetProperty(h => h.End, new LocalTime(22, 0))));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, day, hour, minute))).Id();

        var reminder = Assert.Single(await school.MessagesAsync(id, "lesson_reminder"));

        Assert.Equal(London(2026, 3, dueDay, dueHour, dueMinute), reminder.DueAt);
        Assert.True(reminder.DueAt < reminder.UselessAt);
        Assert.Equal(London(2026, 3, day, hour, minute) - Duration.FromHours(48), reminder.UselessAt);
    }

    [Fact]
    public async Task That_it_went_is_kept_with_the_lesson_until_the_lesson_is_another()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 10, 14))).Id();
        Assert.Null(await RemindedAsync());

        school.Host.Clock.Reset(London(2026, 3, 7, 14, 1));
        await Post.RunAsync(school.Host, Post.To(server));
        Assert.Equal(London(2026, 3, 7, 14, 1), await RemindedAsync());
        var key = Assert.Single(await school.MessagesAsync(id, "lesson_reminder")).Key;

        await (await school.Office.MoveAsync(id, London(2026, 3, 16, 14), etag: "*")).JsonAsync();
        Assert.Null(await RemindedAsync());
        // One that was on its way while the lesson was moved has told of another time.
        await using var scope = school.Host.Services.CreateAsyncScope();
        var heeder = scope.ServiceProvider.GetServices<IHeedSent>().Single(one => one.Kind == "lesson_reminder");
        await heeder.WentAsync(id, key, school.Host.Clock.GetCurrentInstant(), TestContext.Current.CancellationToken);
        Assert.Null(await RemindedAsync());

        Task<Instant?> RemindedAsync() => school.Host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == id).Select(l => l.RemindedAt).SingleAsync());
    }
}
