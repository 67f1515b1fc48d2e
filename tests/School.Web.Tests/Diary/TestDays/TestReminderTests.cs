using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using School.Web.Tests.Messages;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.TestDays;

/// <summary>From a test day to the letters that arrive. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class TestReminderTests(TestPostgres postgres)
{
    private static readonly Instant Test = London(2026, 4, 14, 10, 14);

    [Fact]
    public async Task Pupil_and_instructor_are_reminded_a_week_before_the_last_free_day_and_the_evening_before()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.EnteredAsync(school.PupilId, Test, ("instructorId", school.InstructorId), ("ownCar", true))).Id();

        // Last free day Monday 30 March; reminders at five on Monday 23 March and on Monday 13 April.
        var messages = await school.MessagesAsync(id);
        Assert.Equal(
            [$"test_day_entered:{id}:0:instructor", $"test_day_entered:{id}:0:pupil", $"test_last_free_day:{id}:0:instructor", $"test_last_free_day:{id}:0:pupil",
                $"test_tomorrow:{id}:0:instructor", $"test_tomorrow:{id}:0:pupil"],
            messages.Select(m => m.Key));
        Assert.All(messages.Where(m => m.Kind == "test_last_free_day"), m =>
        {
            Assert.Equal((London(2026, 3, 23, 17), London(2026, 3, 31, 0)), (m.DueAt, m.UselessAt));
            Assert.Contains("Monday 30 March 2026", m.Text, StringComparison.Ordinal);
            Assert.Contains("The official letter or e-mail decides", m.Text, StringComparison.Ordinal);
        });
        Assert.All(messages.Where(m => m.Kind == "test_tomorrow"), m => Assert.Equal((London(2026, 4, 13, 17), Test), (m.DueAt, m.UselessAt)));
    }

    [Fact]
    public async Task A_changed_day_replaces_its_reminders_and_a_day_taken_off_has_none()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var moved = (await school.Office.EnteredAsync(school.PupilId, Test)).Id();
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        var off = (await school.Office.EnteredAsync(other.Id, Test)).Id();
        await (await school.Office.ChangeAsync(moved, school.PupilId, Test + Duration.FromDays(2))).JsonAsync();
        await school.Office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{off}");
        await Post.RunAsync(school.Host, Post.To(server));
        var before = server.Letters.Count;

        for (var halfDay = 0; halfDay < 2 * 50; halfDay++)
        {
            school.Host.Clock.AdvanceHours(12);
            await Post.RunAsync(school.Host, Post.To(server));
        }

        Assert.Equal(["Last day to change the test: Wednesday 1 April", "Test tomorrow: 10:14"], server.Letters.Skip(before).Select(l => l.Subject));
        Assert.Equal(0, await Post.CountAsync(school.Host, MessageState.Waiting));
    }

    [Fact]
    public async Task A_day_entered_late_and_a_job_that_was_away_send_nothing_of_the_past()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        // Friday 6 March: the last free day is long gone, so only tomorrow's is written.
        var id = (await school.Office.EnteredAsync(school.PupilId, London(2026, 3, 6, 10, 14))).Id();
        Assert.Equal(["test_day_entered", "test_tomorrow"], (await school.MessagesAsync(id)).Select(m => m.Kind));
        await Post.RunAsync(school.Host, Post.To(server));
        var before = server.Letters.Count;

        school.Host.Clock.Reset(London(2026, 3, 6, 10, 14));
        await Post.RunAsync(school.Host, Post.To(server));

        Assert.Equal(before, server.Letters.Count);
        Assert.Equal(0, await Post.CountAsync(school.Host, MessageState.Waiting));
    }

    [Fact]
    public async Task A_recorded_result_ends_the_reminding()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.EnteredAsync(school.PupilId, Test)).Id();
        school.Host.Clock.Reset(Test + Duration.FromHours(1));
        // A token does not live as long as that.
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Linnet Brook"));
        await (await office.ResultAsync(id, true, 0)).JsonAsync();

        Assert.DoesNotContain(await school.MessagesAsync(id), m => m.Kind != "test_day_entered" && m.State == MessageState.Waiting);
    }
}
