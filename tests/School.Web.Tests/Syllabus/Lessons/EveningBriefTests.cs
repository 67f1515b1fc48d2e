using System.Net;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Messages;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;
using static School.Web.Tests.Syllabus.Lessons.LessonRecordTests;

namespace School.Web.Tests.Syllabus.Lessons;

/// <summary>The brief that a pupil gets the evening before: once, at the school's hour, and never of a lesson that is no more.</summary>
public sealed class EveningBriefTests(TestPostgres postgres)
{
    private static readonly Instant Tuesday10 = London(2026, 3, 10, 10);

    [Fact]
    public async Task At_six_the_evening_before_the_pupil_is_told_where_when_and_what_for_and_only_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await LessonBriefTests.PublishAsync(school.Host, skill => skill.Key == "legal-responsibilities", LessonBriefTests.Filled);
        var last = await TaughtHourAsync(school, London(2026, 3, 5, 10));
        await (await RecordAsync(school.Instructor, last, new { minutesTaught = 60, aim = "Two roundabouts alone.", privateNote = "Nervous." })).JsonAsync();
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();

        school.Host.Clock.Reset(London(2026, 3, 9, 17, 59));
        await RunAsync(school);
        Assert.Empty(await BriefsAsync(school, id));
        school.Host.Clock.Reset(London(2026, 3, 9, 18));
        await RunAsync(school);
        await RunAsync(school);
        var letter = Assert.Single(await BriefsAsync(school, id));
        Assert.Equal(($"lesson_brief:{id}:0:pupil", Tuesday10), (letter.Key, letter.UselessAt));
        Assert.All(
            ["Tuesday 10 March, 10:00 to 11:00", "Mill Lane", "Two roundabouts alone.", "What you must have with you.", "Bring your driving licence", $"/syllabus/lessons/{id}/brief"],
            words => Assert.Contains(words, letter.Text, StringComparison.Ordinal));
        Assert.DoesNotContain("Nervous", letter.Text + letter.Html, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Two_nodes_write_it_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        school.Host.Clock.Reset(London(2026, 3, 9, 18));
        await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => RunAsync(school)));
        Assert.Single(await BriefsAsync(school, id));
    }

    [Fact]
    public async Task Of_a_lesson_moved_after_it_was_written_the_old_one_is_withdrawn_and_the_new_time_told()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        school.Host.Clock.Reset(London(2026, 3, 9, 18));
        await RunAsync(school);
        await (await school.Office.MoveAsync(id, London(2026, 3, 10, 14), etag: "*")).JsonAsync();
        await RunAsync(school);
        var letters = await BriefsAsync(school, id);
        Assert.Equal([MessageState.Withdrawn, MessageState.Waiting], letters.Select(letter => letter.State));
        Assert.Contains("14:00 to 15:00", letters[1].Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Of_a_cancelled_lesson_none_goes_out()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var before = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        var after = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 10, 14))).Id();
        await (await school.Office.CancelAsync(before, "weather", "*")).JsonAsync();
        school.Host.Clock.Reset(London(2026, 3, 9, 18));
        await RunAsync(school);
        await (await school.Office.CancelAsync(after, "weather", "*")).JsonAsync();
        await RunAsync(school);
        Assert.Empty(await BriefsAsync(school, before));
        Assert.Equal(MessageState.Withdrawn, Assert.Single(await BriefsAsync(school, after)).State);
    }

    [Fact]
    public async Task The_school_sets_the_hour_or_sends_none()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        const string Settings = "/api/v1/evening-briefs/settings";
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        Assert.Equal(18, (await school.Office.GetJsonAsync(Settings)).GetProperty("hour").GetInt32());
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Office.SendJsonAsync(HttpMethod.Put, Settings, new { hour = 7 }, etag: "*")).StatusCode);
        await (await school.Office.SendJsonAsync(HttpMethod.Put, Settings, new { hour = (int?)null }, etag: "\"1\"")).JsonAsync();
        school.Host.Clock.Reset(London(2026, 3, 9, 21));
        await RunAsync(school);
        Assert.Empty(await BriefsAsync(school, id));
        Assert.Equal("stale", await (await school.Office.SendJsonAsync(HttpMethod.Put, Settings, new { hour = 20 }, etag: "\"1\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        await (await school.Office.SendJsonAsync(HttpMethod.Put, Settings, new { hour = 20 }, etag: "\"2\"")).JsonAsync();
        await RunAsync(school);
        Assert.Single(await BriefsAsync(school, id));
    }

    private static Task<List<Said>> BriefsAsync(SmallSchool school, Guid lesson) => school.MessagesAsync(lesson, LessonMessages.Brief);

    internal static async Task RunAsync(SmallSchool school)
    {
        await using var scope = school.Host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<EveningBriefs>().RunAsync(CancellationToken.None);
    }
}
