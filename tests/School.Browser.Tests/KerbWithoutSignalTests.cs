using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>At the kerb without signal: the lesson is recorded and the same time next week booked by one tap, and whatever becomes of it meanwhile, nothing is lost and nothing is there twice.</summary>
public sealed class KerbWithoutSignalTests(TestPostgres postgres, Chromium chromium)
{
    private const string Sentence = "Roundabouts without a prompt.";
    private const string Book = "Book Monday 9 March, 10:15 to 11:30";

    [Fact]
    public async Task A_time_that_was_taken_meanwhile_is_told_with_its_reason_while_the_record_goes_and_the_press_waits_to_be_put_right()
    {
        await using var phone = await BookedWithoutSignalAsync();
        await phone.Host.AddAsync(new TimeOffRow
        {
            InstructorId = phone.Day.Marigold.Id,
            StartsAt = LarkfieldMonday.At(0, 0) + Duration.FromDays(7),
            EndsAt = LarkfieldMonday.At(0, 0) + Duration.FromDays(8),
            Reason = "course",
        });
        await phone.SignalAsync(true);
        await phone.UntilAsync("async person => typeof Keep !== 'undefined' && (await Keep.records(person)).map(record => `${record.kind} ${record.state}`).join() === 'booking refused'", phone.Owner.Id.ToString());
        Assert.Equal((LessonState.Taught, 70), ((await phone.LessonAsync()).State, (await phone.LessonAsync()).MinutesTaught));
        await phone.SeeAsync("It is kept on this phone until you have put it right.");
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.SeeAsync("Booking of Idris Bell, Monday 9 March, 10:15 to 11:30");
        await phone.SeeAsync("The school did not take it.");
        await phone.SeeAsync("The instructor is off at that time.");
        await LooksRightAsync(phone);

        // Put right, it is another time; what was refused is taken off by hand, and nothing was booked for it.
        await phone.Walk.PressAsync("Put it right");
        await phone.SeeAsync("Monday 9 March, 10:15 to 11:30 is not possible.");
        Assert.Equal(1, await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Another time" }).CountAsync());
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.Page.GetByText("Take it off this phone").ClickAsync();
        await phone.Walk.PressAsync("Take it off");
        await phone.SentAsync();
        Assert.Equal(0, await NextWeekAsync(phone));
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
    }

    [Fact]
    public async Task A_session_that_ended_meanwhile_keeps_both_until_the_same_person_signs_in_and_then_both_are_there_once()
    {
        await using var phone = await BookedWithoutSignalAsync();
        await phone.EndSessionAsync();
        await phone.SignalAsync(true);
        await phone.SeeAsync("You are signed out. Sign in again to send it.");
        Assert.Equal((LessonState.Booked, 0, 2), ((await phone.LessonAsync()).State, await NextWeekAsync(phone), await phone.WaitingAsync()));
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Sign in again to send it." }).First.ClickAsync();
        await phone.Page.GetByLabel("E-mail address").FillAsync(phone.Owner.Email!);
        await phone.Page.GetByLabel("Password").FillAsync(SchoolHost.Password);
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        await BothOnceAsync(phone);
    }

    [Fact]
    public async Task However_often_it_is_pressed_and_opened_again_it_waits_once_and_is_booked_once()
    {
        await using var phone = await BookedWithoutSignalAsync(async page =>
        {
            // As a thumb does that sees nothing happen, and then once more on the page opened anew.
            await page.GetByRole(AriaRole.Button, new() { Name = Book }).DblClickAsync();
            await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Not yet sent (1). Kept on this phone.");
            await page.ReloadAsync();
            await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Not yet sent (1). Kept on this phone.");
            await page.GetByRole(AriaRole.Button, new() { Name = Book }).ClickAsync();
        });
        await Assertions.Expect(phone.Page.Locator(".top .unsent")).ToHaveTextAsync("Not yet sent (2)");
        Assert.Equal(2, await phone.WaitingAsync());
        await phone.SignalAsync(true);
        await BothOnceAsync(phone);
    }

    [Fact]
    public async Task A_page_that_was_closed_and_opened_again_without_signal_still_shows_both_and_sends_each_once()
    {
        await using var phone = await BookedWithoutSignalAsync();
        var again = await phone.Page.Context.NewPageAsync();
        await phone.Page.CloseAsync();
        await again.GotoAsync("/diary/day");
        await Assertions.Expect(again.Locator(".top .unsent")).ToHaveTextAsync("Not yet sent (2)");
        await Assertions.Expect(again.Locator("[data-unsent] .warning")).ToContainTextAsync("Booking of Idris Bell, Monday 9 March, 10:15 to 11:30");
        await again.GotoAsync(LessonPages.Next(phone.Day.OnNow.Id));
        await Assertions.Expect(again.Locator("main")).ToContainTextAsync("Not yet sent (1). Kept on this phone.");
        await phone.SignalAsync(true);
        await BothOnceAsync(phone, again);
        await again.GotoAsync(LessonPages.Next(phone.Day.OnNow.Id));
        await Assertions.Expect(again.Locator("main")).ToContainTextAsync("Monday 9 March, 10:15 to 11:30 is booked.");
    }

    [Fact]
    public async Task What_is_kept_of_the_kerb_is_accessible_and_fits_the_phone()
    {
        await using var phone = await BookedWithoutSignalAsync();
        foreach (var page in new[] { "/diary/day", phone.RecordPage, LessonPages.Next(phone.Day.OnNow.Id), "/syllabus/queue" })
        {
            await phone.Page.GotoAsync(page);
            await phone.SeeAsync(page == "/syllabus/queue" ? "Booking of Idris Bell" : "Not yet sent");
            await LooksRightAsync(phone);
        }
    }

    private static async Task LooksRightAsync(InstructorPhone phone)
    {
        Assert.Equal(Screen.Phone.Width, await phone.Page.EvaluateAsync<int>("innerWidth"));
        await phone.Walk.ExpectAccessibleAsync();
        await phone.Walk.ExpectNoSidewaysScrollAsync();
    }

    /// <summary>Without signal the lesson is recorded, and from the page of what comes next the same time next week booked by one tap.</summary>
    private async Task<InstructorPhone> BookedWithoutSignalAsync(Func<IPage, Task>? press = null)
    {
        var phone = await InstructorPhone.StartAsync(postgres, chromium);
        await phone.WriteWithoutSignalAsync("70", Sentence);
        await phone.Walk.PressAsync("What comes next");
        await phone.SeeAsync("No connection. As it stood at");
        await (press is null ? phone.Walk.PressAsync(Book) : press(phone.Page));
        await phone.SeeAsync("Not yet sent (1). Kept on this phone.");
        Assert.Equal((LessonState.Booked, 0), ((await phone.LessonAsync()).State, await NextWeekAsync(phone)));
        return phone;
    }

    private static async Task BothOnceAsync(InstructorPhone phone, IPage? page = null)
    {
        await phone.SentAsync(page);
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
        var lesson = await phone.LessonAsync();
        Assert.Equal((LessonState.Taught, 70, Sentence), (lesson.State, lesson.MinutesTaught, lesson.Note));
        Assert.Equal(1, await NextWeekAsync(phone));
    }

    private static Task<int> NextWeekAsync(InstructorPhone phone) => phone.Host.WithDbAsync(db =>
        db.Set<Lesson>().CountAsync(l => l.PupilId == phone.Day.Idris.Id && l.StartsAt > LarkfieldMonday.At(23, 0)));
}
