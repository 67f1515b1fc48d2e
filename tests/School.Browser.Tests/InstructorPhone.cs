using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>The phone of an instructor whose lesson with Idris Bell has just ended, and the school behind it.</summary>
internal sealed class InstructorPhone : IAsyncDisposable
{
    private readonly Walk _walk;

    private InstructorPhone(SchoolHost host, LarkfieldMonday day, Person owner, Walk walk)
    {
        Host = host;
        Day = day;
        Owner = owner;
        _walk = walk;
    }

    public SchoolHost Host { get; }

    public LarkfieldMonday Day { get; }

    public Person Owner { get; }

    public Walk Walk => _walk;

    public IPage Page => _walk.Page;

    public string RecordPage => $"/diary/lessons/{Day.OnNow.Id}/record";

    public static async Task<InstructorPhone> StartAsync(TestPostgres postgres, Chromium chromium)
    {
        var host = await SchoolHost.StartAsync(postgres);
        var url = host.Listen();
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

    public async Task RecordAsync(string minutes, string sentence)
    {
        await Page.GetByLabel("Minutes taught").FillAsync(minutes);
        await Page.GetByLabel("One sentence for the pupil").FillAsync(sentence);
        await _walk.PressAsync("Record as taught");
    }

    public Task SeeAsync(string words) => Assertions.Expect(Page.Locator("main")).ToContainTextAsync(words);

    /// <summary>Waits until nothing waits any more.</summary>
    public Task SentAsync() => UntilAsync("async person => (await Keep.records(person)).length === 0", Owner.Id.ToString());

    /// <summary>Asks again until it is so. Playwright's own waiting evaluates text on the page, which the content security policy forbids.</summary>
    public async Task UntilAsync(string script, object? argument = null)
    {
        for (var tries = 0; !await Page.EvaluateAsync<bool>(script, argument); tries++)
        {
            Assert.True(tries < 150, $"{Page.Url} never came to: {script}");
            await Task.Delay(100);
        }
    }

    public Task<int> WaitingAsync(Guid? person = null) =>
        Page.EvaluateAsync<int>("async person => (await Keep.records(person)).length", (person ?? Owner.Id).ToString());

    public Task<Lesson> LessonAsync() => Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == Day.OnNow.Id));

    public Task<int> TimesRecordedAsync() =>
        Host.WithDbAsync(db => db.Set<LessonChange>().CountAsync(c => c.LessonId == Day.OnNow.Id && c.Kind == ChangeKind.Recorded));

    public async ValueTask DisposeAsync()
    {
        await _walk.DisposeAsync();
        await Host.DisposeAsync();
    }
}
