using System.Text.RegularExpressions;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Diary.Contracts;

namespace School.Browser.Tests;

/// <summary>What the school did not take as it was: set side by side, put right, or taken off; and signing out with something unsent.</summary>
public sealed class QueueJourneyTests(TestPostgres postgres, Chromium chromium)
{
    private const string Mine = "Roundabouts without a prompt.";
    private const string Theirs = "Left early, felt unwell.";

    [Theory]
    [InlineData("Keep mine", 70, Mine, 2)]
    [InlineData("Keep the school’s", 40, Theirs, 1)]
    public async Task Two_records_of_one_lesson_stand_side_by_side_and_the_instructor_chooses(string choice, int minutes, string sentence, int times)
    {
        await using var phone = await ConflictAsync();
        await phone.Page.GotoAsync("/syllabus/queue");
        var row = phone.Page.GetByRole(AriaRole.Row, new() { NameRegex = new("One sentence for the pupil") });
        await Assertions.Expect(row).ToContainTextAsync(Theirs);
        await Assertions.Expect(row).ToContainTextAsync(Mine);
        await phone.SeeAsync("At the school: Recorded as taught, 40 min.");
        await phone.Walk.ExpectAccessibleAsync();
        await phone.Walk.ExpectNoSidewaysScrollAsync();

        await phone.Walk.PressAsync(choice);
        await phone.SentAsync();
        await phone.SeeAsync("Nothing waits here");
        var lesson = await phone.LessonAsync();
        Assert.Equal((LessonState.Taught, minutes, sentence), (lesson.State, lesson.MinutesTaught, lesson.Note));
        Assert.Equal(times, (await phone.RecordedByAsync()).Count);
    }

    [Fact]
    public async Task Mine_may_be_changed_first_and_then_stands_on_what_the_school_has()
    {
        await using var phone = await ConflictAsync();
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.Walk.PressAsync("Change mine first");
        await Assertions.Expect(phone.Page.GetByLabel("One sentence for the pupil")).ToHaveValueAsync(Mine);
        await phone.SentAsync();
        Assert.Equal(Mine, (await phone.LessonAsync()).Note);
    }

    [Fact]
    public async Task A_record_the_school_refuses_is_kept_with_the_reason_until_it_is_put_right()
    {
        await using var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.WriteWithoutSignalAsync("99", Mine);
        await phone.SignalAsync(true);
        await phone.SeeAsync("Minutes taught are between 1 and 75, the length of the lesson.");
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.SeeAsync("The school did not take it. Minutes taught are between 1 and 75");
        await phone.Walk.ExpectAccessibleAsync();

        await phone.Walk.PressAsync("Put it right");
        await Assertions.Expect(phone.Page.GetByLabel("One sentence for the pupil")).ToHaveValueAsync(Mine);
        await phone.RecordAsync("75", Mine);
        await phone.Page.WaitForURLAsync("**/syllabus/lessons/*/next");
        Assert.Equal(75, (await phone.LessonAsync()).MinutesTaught);
        Assert.Equal(0, await phone.WaitingAsync());
    }

    [Fact]
    public async Task With_signal_a_mistake_is_told_at_once_and_what_was_typed_stays()
    {
        await using var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.Page.GotoAsync(phone.RecordPage);
        await phone.RecordAsync("99", Mine);
        await Assertions.Expect(phone.Page.Locator(".problems")).ToContainTextAsync("Minutes taught are between 1 and 75");
        await Assertions.Expect(phone.Page.Locator("#Input_MinutesTaught-error")).ToContainTextAsync("Minutes taught are between 1 and 75");
        await Assertions.Expect(phone.Page).ToHaveTitleAsync(new Regex("^Error: "));
        await phone.Walk.ExpectAccessibleAsync();
        await phone.RecordAsync("75", Mine);
        await phone.Page.WaitForURLAsync("**/syllabus/lessons/*/next");
        Assert.Contains("Recorded: Idris Bell, 1¼ hours taught.", await phone.Page.GetByRole(AriaRole.Status).First.InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
        Assert.Equal(0, await phone.WaitingAsync());
    }

    [Fact]
    public async Task A_record_is_taken_off_the_phone_only_on_purpose()
    {
        await using var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.WriteWithoutSignalAsync("70", Mine);
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.Page.GetByText("Take it off this phone").ClickAsync();
        await phone.Walk.PressAsync("Take it off");
        await phone.SentAsync();
        await phone.SignalAsync(true);
        Assert.Equal(LessonState.Booked, (await phone.LessonAsync()).State);
    }

    [Fact]
    public async Task Signing_out_warns_of_what_is_not_sent_and_then_takes_everything_off_the_phone()
    {
        await using var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.WriteWithoutSignalAsync("99", Mine);
        await phone.SignalAsync(true);
        await phone.SeeAsync("Minutes taught are between 1 and 75");
        await phone.Page.GetByText("More", new() { Exact = true }).ClickAsync();
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign out" }).ClickAsync();
        await phone.SeeAsync("1 lesson record is not yet sent. If you sign out now, it is taken off this phone and never reaches the school: Idris Bell");
        Assert.Equal(1, await phone.WaitingAsync());
        await phone.Walk.ExpectAccessibleAsync();

        await phone.Walk.PressAsync("Sign out and lose 1 record");
        await phone.SeeAsync("You are signed out");
        Assert.Equal(
            "0 keys, 0 pages, 0 records, 0 caches, 0 workers",
            await phone.Page.EvaluateAsync<string>(
                $$"""
                async () => {
                  const workers = (await navigator.serviceWorker.getRegistrations()).length;
                  const { keys, pages, records } = await ({{InstructorPhone.ReadAll}})();
                  return `${keys.length} keys, ${pages.length} pages, ${records.length} records, ${(await caches.keys()).length} caches, ${workers} workers`;
                }
                """));
    }

    [Fact]
    public async Task A_lesson_that_has_not_begun_is_not_recorded_without_signal_either()
    {
        await using var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.KeepDayAsync();
        await phone.SignalAsync(false);
        await phone.Page.Clock.SetFixedTimeAsync("2026-03-02T11:40:00Z");
        await phone.Page.GotoAsync($"/syllabus/lessons/{phone.Day.Tight.Id}/record");
        await phone.SeeAsync("This lesson has not begun yet. Come back once you are parked at its end.");
        await Assertions.Expect(phone.Page.GetByLabel("Minutes taught")).ToBeHiddenAsync();
    }

    /// <summary>A record waits while the office has recorded the same lesson otherwise, and there is signal again.</summary>
    private async Task<InstructorPhone> ConflictAsync()
    {
        var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.WriteWithoutSignalAsync("70", Mine);
        await phone.RecordAtOfficeAsync(40, Theirs);
        await phone.SignalAsync(true);
        await phone.SeeAsync("Somebody else changed this lesson meanwhile.");
        Assert.Equal(Theirs, (await phone.LessonAsync()).Note);
        return phone;
    }
}
