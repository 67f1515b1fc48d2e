using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>An instructor's phone where there is no signal: nothing lost, nothing doubled, nothing sent as somebody else.</summary>
public sealed class WithoutSignalTests(TestPostgres postgres, Chromium chromium)
{
    private const string Sentence = "Roundabouts without a prompt.";

    [Fact]
    public async Task A_record_written_without_signal_waits_in_plain_sight_and_is_sent_once_there_is_signal()
    {
        await using var phone = await PhoneAsync();
        await phone.KeepDayAsync();
        await phone.SignalAsync(false);

        await phone.Page.GotoAsync("/diary/day");
        Assert.Matches(@"No connection\. As it stood at \d\d:\d\d\.", await phone.Page.Locator(".kept").InnerTextAsync());
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Record once parked 10:15 Idris Bell" }).ClickAsync();
        await phone.RecordAsync("70", Sentence);
        await phone.SeeAsync("Not yet sent (1). Kept on this phone.");
        Assert.Equal("Not yet sent (1)", await phone.Page.Locator(".top .unsent").InnerTextAsync());
        await phone.Page.GotoAsync("/diary/day");
        Assert.Contains("Kept on this phone: Idris Bell, ", await phone.Page.Locator("[data-unsent] .warning").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal(LessonState.Booked, (await phone.LessonAsync()).State);

        await phone.SignalAsync(true);
        await phone.SentAsync();
        var lesson = await phone.LessonAsync();
        Assert.Equal((LessonState.Taught, 70, Sentence), (lesson.State, lesson.MinutesTaught, lesson.Note));
        Assert.Equal(1, await phone.TimesRecordedAsync());
    }

    private Task<InstructorPhone> PhoneAsync() => InstructorPhone.StartAsync(postgres, chromium);
}
