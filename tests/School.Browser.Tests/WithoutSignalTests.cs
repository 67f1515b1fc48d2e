using System.Text;
using Microsoft.Playwright;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
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
        await phone.Walk.ExpectNoSidewaysScrollAsync();
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Record once parked 10:15 Idris Bell" }).ClickAsync();
        await phone.Page.GoBackAsync();
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Brief 11:45 Wren Castellan" }).ClickAsync();
        await phone.SeeAsync("No connection. As it stood at");
        await Assertions.Expect(phone.Page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToContainTextAsync("Wren Castellan");
        await phone.Page.GotoAsync(phone.RecordPage);
        var skill = phone.Page.Locator("form > section > fieldset.skill").First;
        await skill.GetByText("Prompted", new() { Exact = true }).ClickAsync();
        await phone.RecordAsync("70", Sentence);
        await phone.SeeAsync("Not yet sent (1). Kept on this phone.");
        Assert.Equal("Not yet sent (1)", await phone.Page.Locator(".top .unsent").InnerTextAsync());
        await phone.Page.SetViewportSizeAsync(320, 640);
        await phone.Walk.ExpectNoSidewaysScrollAsync();
        await phone.Page.GotoAsync("/diary/day");
        await Assertions.Expect(phone.Page.Locator("[data-unsent] .warning")).ToContainTextAsync("Kept on this phone: Idris Bell, ");
        await phone.Walk.ExpectAccessibleAsync();
        Assert.Equal(LessonState.Booked, (await phone.LessonAsync()).State);

        await phone.SignalAsync(true);
        await phone.SentAsync();
        var lesson = await phone.LessonAsync();
        Assert.Equal((LessonState.Taught, 70, Sentence), (lesson.State, lesson.MinutesTaught, lesson.Note));
        Assert.Equal(SkillLevel.Prompted, Assert.Single((await phone.RecordAsync()).Levels).Level);
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
        await Assertions.Expect(phone.Page.Locator(".top .unsent")).ToBeHiddenAsync();
    }

    [Fact]
    public async Task The_same_time_next_week_is_booked_without_signal_and_reaches_the_school_once_after_the_record()
    {
        await using var phone = await PhoneAsync();
        await phone.WriteWithoutSignalAsync("70", Sentence);
        await phone.Walk.PressAsync("What comes next");
        await phone.SeeAsync("No connection. As it stood at");
        await phone.Walk.ExpectAccessibleAsync();
        await phone.Walk.PressAsync("Book Monday 9 March, 10:15 to 11:30");
        await phone.SeeAsync("Not yet sent (1). Kept on this phone.");
        Assert.Equal("Not yet sent (2)", await phone.Page.Locator(".top .unsent").InnerTextAsync());
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.SeeAsync("Booking of Idris Bell, Monday 9 March, 10:15 to 11:30");
        await phone.Page.SetViewportSizeAsync(320, 640);
        await phone.Walk.ExpectNoSidewaysScrollAsync();
        Assert.Equal(0, await NextWeekAsync(phone));

        await phone.SignalAsync(true);
        await phone.SentAsync();
        await phone.Page.GotoAsync("/diary/day");
        Assert.Equal(1, await NextWeekAsync(phone));
        Assert.Equal(LessonState.Taught, (await phone.LessonAsync()).State);
    }

    private static Task<int> NextWeekAsync(InstructorPhone phone) => phone.Host.WithDbAsync(db => Microsoft.EntityFrameworkCore.EntityFrameworkQueryableExtensions.CountAsync(
        db.Set<Web.Modules.Diary.Lessons.Lesson>(), l => l.PupilId == phone.Day.Idris.Id && l.StartsAt > LarkfieldMonday.At(23, 0)));

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task An_answer_that_never_comes_leaves_one_record_and_the_same_question_is_asked_again(bool pageKilled)
    {
        await using var phone = await PhoneAsync();
        await phone.Page.GotoAsync(phone.RecordPage);
        var handled = new TaskCompletionSource();
        await phone.Page.RouteAsync($"**{phone.RecordPage}", async route =>
        {
            if (route.Request.Method != "POST")
            {
                await route.ContinueAsync();
                return;
            }

            await route.FetchAsync();
            handled.TrySetResult();
            if (!pageKilled)
            {
                await route.AbortAsync();
            }
        });
        await phone.RecordAsync("70", Sentence);
        await handled.Task.WaitAsync(TimeSpan.FromSeconds(15));
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
        Assert.Equal(1, await phone.WaitingAsync());

        var page = pageKilled ? await phone.Page.Context.NewPageAsync() : phone.Page;
        if (pageKilled)
        {
            await phone.Page.CloseAsync();
        }
        else
        {
            await phone.Page.UnrouteAllAsync();
        }

        var again = page.WaitForResponseAsync(response => response.Request.Method == "POST" && response.Url.EndsWith(phone.RecordPage, StringComparison.Ordinal));
        await page.GotoAsync("/diary/day");
        Assert.Equal("true", (await again).Headers["idempotency-replayed"]);
        await phone.SentAsync(page);
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
        Assert.Equal(Sentence, (await phone.LessonAsync()).Note);
    }

    [Fact]
    public async Task Two_open_tabs_send_a_record_once()
    {
        await using var phone = await PhoneAsync();
        await phone.WriteWithoutSignalAsync("70", Sentence);
        var second = await phone.Page.Context.NewPageAsync();
        await second.GotoAsync("/diary/day");
        var third = await phone.Page.Context.NewPageAsync();
        await third.GotoAsync(phone.RecordPage);
        var posts = 0;
        phone.Page.Context.Request += (_, request) => posts += request.Method == "POST" ? 1 : 0;

        await phone.SignalAsync(true);
        await phone.SentAsync(second);
        await Assertions.Expect(third.Locator("main")).ToContainTextAsync("Sent. The record is with the school.");
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
        Assert.Equal(1, posts);
    }

    [Fact]
    public async Task What_two_tabs_make_of_one_kept_record_is_compared_and_neither_is_lost()
    {
        await using var phone = await PhoneAsync();
        await phone.WriteWithoutSignalAsync("70", Sentence);
        var second = await phone.Page.Context.NewPageAsync();
        await second.GotoAsync(phone.RecordPage);
        await Assertions.Expect(second.GetByLabel("One sentence for the pupil")).ToHaveValueAsync(Sentence);

        await phone.RecordAsync("70", "From the first tab.");
        await phone.SeeAsync("Not yet sent (1).");
        await second.GetByLabel("One sentence for the pupil").FillAsync("From the second tab.");
        await second.GetByRole(AriaRole.Button, new() { Name = "Record as taught" }).ClickAsync();
        await Assertions.Expect(second.Locator(".top .unsent")).ToHaveTextAsync("Not yet sent (2)");

        await phone.SignalAsync(true);
        await phone.UntilAsync("async person => (await Keep.records(person)).some(record => record.state === 'stale')", phone.Owner.Id.ToString(), second);
        await second.GotoAsync("/syllabus/queue");
        await Assertions.Expect(second.Locator("main")).ToContainTextAsync("From the first tab.");
        await Assertions.Expect(second.Locator("main")).ToContainTextAsync("From the second tab.");
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
    }

    [Fact]
    public async Task Another_person_who_signs_in_on_the_phone_neither_sees_nor_sends_what_waits_there()
    {
        await using var phone = await PhoneAsync();
        var colleague = await phone.Host.Data.PersonAsync(await phone.Host.Data.InstructorAsync("Alder Quince"));
        await phone.WriteWithoutSignalAsync("70", Sentence);
        var ownersTab = phone.Page;
        await phone.EndSessionAsync();
        await phone.SignalAsync(true);
        await phone.Walk.SignInAsync(colleague);

        // The owner's page is still open while the colleague is signed in.
        await ownersTab.GetByRole(AriaRole.Button, new() { Name = "Send now" }).ClickAsync();
        await phone.SeeAsync("Somebody else is signed in on this phone. It waits for you to sign in.");
        foreach (var page in new[] { "/diary/day", "/syllabus/queue" })
        {
            await ownersTab.GotoAsync(page);
            await phone.UntilAsync("async () => (await MayUseKept) === true");
            await Task.Delay(500);
            Assert.DoesNotContain("Idris Bell", await ownersTab.ContentAsync(), StringComparison.Ordinal);
            Assert.Equal(0, await ownersTab.Locator(".unsent").CountAsync());
        }

        Assert.Equal(LessonState.Booked, (await phone.LessonAsync()).State);
        await phone.SignalAsync(false);
        await ownersTab.GotoAsync($"/diary/lessons/{phone.Day.OnNow.Id}");
        Assert.DoesNotContain("Idris Bell", await ownersTab.ContentAsync(), StringComparison.Ordinal);
        await phone.SignalAsync(true);

        // Signing out takes off what is the colleague's and leaves what waits for its owner.
        await ownersTab.GotoAsync("/people/sign-out");
        await phone.Walk.PressAsync("Sign out");
        await phone.SeeAsync("You are signed out");
        Assert.Equal(1, await phone.WaitingAsync());

        await phone.Walk.SignInAsync(phone.Owner);
        await ownersTab.GotoAsync("/diary/day");
        await phone.SentAsync();
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
    }

    [Fact]
    public async Task After_a_changed_password_the_record_waits_for_its_writer_to_sign_in_again()
    {
        const string NewPassword = "larkfield hedges and gates";
        await using var phone = await PhoneAsync();
        await phone.WriteWithoutSignalAsync("70", Sentence);
        await phone.ChangePasswordAsync(NewPassword);
        await phone.SignalAsync(true);
        await phone.SeeAsync("You are signed out. Sign in again to send it.");
        Assert.Equal(LessonState.Booked, (await phone.LessonAsync()).State);

        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Sign in again to send it." }).ClickAsync();
        await phone.Page.GetByLabel("E-mail address").FillAsync(phone.Owner.Email!);
        await phone.Page.GetByLabel("Password").FillAsync(NewPassword);
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        await phone.SentAsync();
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
    }

    [Fact]
    public async Task What_lies_in_the_browser_cannot_be_read_there()
    {
        await using var phone = await PhoneAsync();
        await phone.WriteWithoutSignalAsync("70", Sentence);
        var bytes = await phone.Page.EvaluateAsync<string>(
            $$"""
            async () => {
              const all = await ({{InstructorPhone.ReadAll}})();
              const text = value => value instanceof ArrayBuffer || ArrayBuffer.isView(value) ? new TextDecoder('latin1').decode(value)
                : value instanceof CryptoKey ? `key, extractable ${value.extractable}` : typeof value === 'object' && value ? Object.values(value).map(text).join('|') : String(value);
              let cached = '';
              for (const name of await caches.keys())
                for (const answer of await (await caches.open(name)).matchAll()) cached += `|${answer.url}|` + await answer.text();
              return text(all) + cached;
            }
            """);
        Assert.Contains("key, extractable false", bytes, StringComparison.Ordinal);
        Assert.Contains("base.css", bytes, StringComparison.Ordinal);
        Assert.Contains($"/syllabus/lessons/{phone.Day.OnNow.Id}/record", bytes, StringComparison.Ordinal);
        Assert.True(bytes.Length > 10_000, $"Only {bytes.Length} bytes.");
        Assert.DoesNotContain(Sentence, bytes, StringComparison.Ordinal);
        Assert.DoesNotContain("Idris", bytes, StringComparison.Ordinal);
        Assert.DoesNotContain("Quarry", bytes, StringComparison.Ordinal);
        Assert.DoesNotContain(Convert.ToBase64String(Encoding.UTF8.GetBytes(Sentence))[..20], bytes, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Pages_are_shown_for_48_hours_and_then_deleted()
    {
        const string Age =
            """
            async hours => {
              const db = await new Promise(done => { indexedDB.open('school', 1).onsuccess = e => done(e.target.result); });
              const store = db.transaction('pages', 'readwrite').objectStore('pages');
              const all = await new Promise(done => { store.getAll().onsuccess = e => done(e.target.result); });
              for (const page of all.filter(p => p.url !== '/syllabus/queue')) store.put({ ...page, at: Date.now() - hours * 3600000 });
              return new Promise(done => { store.transaction.oncomplete = () => { db.close(); done(all.length); }; });
            }
            """;
        await using var phone = await PhoneAsync();
        await phone.KeepDayAsync();
        Assert.True(await phone.Page.EvaluateAsync<int>(Age, 47.9) >= 10);
        await phone.SignalAsync(false);
        await phone.Page.GotoAsync("/diary/day");
        Assert.Contains("As it stood at", await phone.Page.Locator(".kept").InnerTextAsync(), StringComparison.Ordinal);

        await phone.Page.EvaluateAsync(Age, 48.1);
        await phone.Page.GotoAsync("/diary/day");
        await phone.SeeAsync("No connection. That page is not kept on this phone.");
        Assert.DoesNotContain("Idris Bell", await phone.Page.ContentAsync(), StringComparison.Ordinal);
        Assert.Equal("/syllabus/queue", await phone.Page.EvaluateAsync<string>($"async () => (await ({InstructorPhone.ReadAll})()).pages.map(p => p.url).join()"));
    }

    [Fact]
    public async Task A_record_older_than_48_hours_is_sent_only_when_its_writer_says_so()
    {
        await using var phone = await PhoneAsync();
        await phone.WriteWithoutSignalAsync("70", Sentence);
        await phone.Page.EvaluateAsync(
            """
            async () => {
              const db = await new Promise(done => { indexedDB.open('school', 1).onsuccess = e => done(e.target.result); });
              const store = db.transaction('records', 'readwrite').objectStore('records');
              const [record] = await new Promise(done => { store.getAll().onsuccess = e => done(e.target.result); });
              store.put({ ...record, at: Date.now() - 49 * 3600000 });
              return new Promise(done => { store.transaction.oncomplete = () => { db.close(); done(); }; });
            }
            """);
        await phone.SignalAsync(true);
        await phone.Page.GotoAsync("/syllabus/queue");
        await phone.SeeAsync("It is older than 48 hours, so it is sent only when you say so.");
        await Task.Delay(1000);
        Assert.Equal(LessonState.Booked, (await phone.LessonAsync()).State);
        await phone.Walk.PressAsync("Send now");
        await phone.SentAsync();
        Assert.Equal([phone.Owner.Id], await phone.RecordedByAsync());
    }

    [Fact]
    public async Task A_page_that_is_not_kept_says_which_are()
    {
        await using var phone = await PhoneAsync();
        await phone.KeepDayAsync();
        await phone.SignalAsync(false);
        await phone.Page.GotoAsync("/pupils");
        await phone.SeeAsync("No connection. That page is not kept on this phone. The pages below work without it.");
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Monday 2 March, 10:15 Idris Bell: record" }).ClickAsync();
        await Assertions.Expect(phone.Page.GetByLabel("Minutes taught")).ToHaveValueAsync("75");
    }

    [Fact]
    public async Task A_pupils_browser_keeps_nothing()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone);
        await walk.SignInAsync(await host.Data.PersonAsync(day.Idris));
        await walk.Page.GotoAsync("/diary/home");
        await walk.Page.EvaluateAsync("() => MayUseKept");
        Assert.Equal(0, await walk.Page.EvaluateAsync<int>("async () => (await navigator.serviceWorker.getRegistrations()).length + (await caches.keys()).length"));
        Assert.Equal(0, await walk.Page.EvaluateAsync<int>($"async () => ({InstructorPhone.ReadAll})().then(all => all.keys.length + all.pages.length + all.records.length)"));
    }

    private Task<InstructorPhone> PhoneAsync() => InstructorPhone.StartAsync(postgres, chromium);
}
