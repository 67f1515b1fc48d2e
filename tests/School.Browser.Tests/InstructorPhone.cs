using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>The phone of an instructor whose lesson with Idris Bell has just ended, and the school behind it.</summary>
internal sealed class InstructorPhone : IAsyncDisposable
{
    private InstructorPhone(SchoolHost host, LarkfieldMonday day, Person owner, Walk walk)
    {
        Host = host;
        Day = day;
        Owner = owner;
        Walk = walk;
    }

    public SchoolHost Host { get; }

    public LarkfieldMonday Day { get; }

    public Person Owner { get; }

    public Walk Walk { get; }

    public IPage Page => Walk.Page;

    public string RecordPage => $"/syllabus/lessons/{Day.OnNow.Id}/record";

    public static async Task<InstructorPhone> StartAsync(TestPostgres postgres, Chromium chromium)
    {
        var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        var owner = await host.Data.PersonAsync(day.Marigold);
        var walk = await Walk.StartAsync(chromium, url, Screen.Phone);
        await walk.SignInAsync(owner);
        return new(host, day, owner, walk);
    }

    /// <summary>Opens the day with signal and waits until it and its lessons are kept.</summary>
    public async Task KeepDayAsync()
    {
        await Page.GotoAsync("/diary/day");
        await UntilAsync("() => document.documentElement.dataset.ahead === 'done' && navigator.serviceWorker.controller !== null");
    }

    public Task SignalAsync(bool there) => Page.Context.SetOfflineAsync(!there);

    /// <summary>Keeps the day, loses the signal and writes a record.</summary>
    public async Task WriteWithoutSignalAsync(string minutes, string sentence)
    {
        await KeepDayAsync();
        await SignalAsync(false);
        await Page.GotoAsync(RecordPage);
        await RecordAsync(minutes, sentence);
        await SeeAsync("Not yet sent (1).");
    }

    public async Task RecordAsync(string minutes, string sentence)
    {
        await Page.GetByLabel("Minutes taught").FillAsync(minutes);
        await Page.GetByLabel("One sentence for the pupil").FillAsync(sentence);
        await Walk.PressAsync("Record as taught");
    }

    public Task SeeAsync(string words) => Assertions.Expect(Page.Locator("main")).ToContainTextAsync(words);

    /// <summary>Waits until nothing waits any more.</summary>
    public Task SentAsync(IPage? page = null) => UntilAsync("async person => typeof Keep !== 'undefined' && (await Keep.records(person)).length === 0", Owner.Id.ToString(), page);

    /// <summary>How many records of theirs wait, readable or not.</summary>
    public Task<int> WaitingAsync() => Page.EvaluateAsync<int>($"async () => ({ReadAll})().then(all => all.records.length)");

    /// <summary>Everything the browser keeps in its database, as it lies there.</summary>
    public const string ReadAll =
        """
        async () => {
          const db = await new Promise((done, fail) => {
            const open = indexedDB.open('school', 1);
            open.onsuccess = () => done(open.result);
            open.onerror = () => fail(open.error);
            open.onupgradeneeded = () => ['keys', 'pages', 'records', 'now'].forEach(name => open.result.createObjectStore(name));
          });
          const all = {};
          for (const store of ['keys', 'pages', 'records', 'now'])
            all[store] = await new Promise(done => { db.transaction(store).objectStore(store).getAll().onsuccess = e => done(e.target.result); });
          db.close();
          return all;
        }
        """;

    /// <summary>Asks again until it is so. Playwright's own waiting evaluates text on the page, which the content security policy forbids.</summary>
    public async Task UntilAsync(string script, object? argument = null, IPage? page = null)
    {
        for (var tries = 0; !await IsSoAsync(page ?? Page, script, argument); tries++)
        {
            Assert.True(tries < 150, $"{Page.Url} never came to: {script}");
            await Task.Delay(100);
        }
    }

    private static async Task<bool> IsSoAsync(IPage page, string script, object? argument)
    {
        try
        {
            return await page.EvaluateAsync<bool>(script, argument);
        }
        catch (PlaywrightException gone) when (gone.Message.Contains("context was destroyed", StringComparison.Ordinal))
        {
            return false; // on its way to the next page
        }
    }

    /// <summary>The session ends as it does by itself, without anybody signing out.</summary>
    public Task EndSessionAsync() => Page.Context.ClearCookiesAsync();

    public async Task ChangePasswordAsync(string to)
    {
        await using var scope = Host.Services.CreateAsyncScope();
        var people = scope.ServiceProvider.GetRequiredService<UserManager<Person>>();
        var person = (await people.FindByIdAsync(Owner.Id.ToString()))!;
        Assert.True((await people.ChangePasswordAsync(person, SchoolHost.Password, to)).Succeeded);
        Host.Clock.Advance(Duration.FromMinutes(2));
    }

    /// <summary>The office records the same lesson from its desk.</summary>
    public async Task RecordAtOfficeAsync(int minutes, string sentence)
    {
        await using var scope = Host.Services.CreateAsyncScope();
        var office = new Viewer(Guid.NewGuid(), OfficeParts.All, null, null, "Rosalind Pike");
        var outcome = await scope.ServiceProvider.GetRequiredService<RecordLesson>().RunAsync(office, Day.OnNow.Id, new(minutes, sentence), null, CancellationToken.None);
        Assert.True(outcome.Ok);
    }

    public Task<Lesson> LessonAsync() => Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == Day.OnNow.Id));

    public Task<LessonRecord> RecordAsync() => Host.WithDbAsync(db => db.Set<LessonRecord>().AsNoTracking().SingleAsync(r => r.LessonId == Day.OnNow.Id));

    /// <summary>Who recorded the lesson, once for each time.</summary>
    public Task<List<Guid>> RecordedByAsync() => Host.WithDbAsync(db =>
        db.Set<LessonChange>().Where(c => c.LessonId == Day.OnNow.Id && c.Kind == ChangeKind.Recorded).OrderBy(c => c.Id).Select(c => c.ByPersonId).ToListAsync());

    public async ValueTask DisposeAsync()
    {
        await Walk.DisposeAsync();
        await Host.DisposeAsync();
    }
}
