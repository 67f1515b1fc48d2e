using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Waiting;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class WaitingJourneyTests(TestPostgres postgres, Chromium chromium)
{
    private static readonly Instant Thursday10 = SchoolHost.London.AtStrictly(new LocalDateTime(2026, 3, 5, 10, 0)).ToInstant();

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Two_pupils_are_offered_the_same_time_in_two_browsers_and_one_has_it(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var instructor = await host.Data.InstructorAsync();
        var wren = await host.Data.PupilAsync("Wren Castellan");
        await using var office = host.Services.CreateAsyncScope();
        var cancel = TestContext.Current.CancellationToken;
        var lesson = await office.ServiceProvider.GetRequiredService<BookLesson>().RunAsync(Viewer.Service, new(wren.Id, instructor.Id, Thursday10, 60), cancel);
        var screen = Screen.Phone with { JavaScript = javaScript };
        await using var first = await Walk.StartAsync(chromium, url, screen);
        await using var second = await Walk.StartAsync(chromium, url, screen);
        foreach (var (walk, name) in new[] { (first, "Tamsin Oakley"), (second, "Idris Bell") })
        {
            await walk.SignInAsync(await host.Data.PersonAsync(await host.Data.PupilAsync(name)));
            await walk.Page.GotoAsync("/diary/waiting");
            await walk.ExpectAccessibleAsync();
            await walk.Page.GetByLabel("An extra lesson, on any day between two dates").CheckAsync();
            await walk.PressAsync("Join the list");
            await walk.ExpectAccessibleAsync();
        }

        await office.ServiceProvider.GetRequiredService<CancelLesson>().RunAsync(Viewer.Service, lesson.Value!.Id, new(CancelReason.Pupil), null, cancel);
        await office.ServiceProvider.GetRequiredService<OfferFreedSlots>().RunAsync(cancel);

        foreach (var walk in new[] { first, second })
        {
            await walk.Page.GotoAsync("/diary/home");
            await walk.PressAsync("See the offer");
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }

        await Task.WhenAll(first.PressAsync("Accept Thursday 5 March"), second.PressAsync("Accept Thursday 5 March"));
        var texts = new[] { await AfterAsync(first), await AfterAsync(second) };
        Assert.Single(texts, text => text.Contains("The lesson is yours", StringComparison.Ordinal));
        Assert.Single(texts, text => text.Contains("This time has gone to somebody else", StringComparison.Ordinal));
    }

    private static async Task<string> AfterAsync(Walk walk)
    {
        await walk.Page.WaitForLoadStateAsync(LoadState.Load);
        return await walk.Page.Locator("body").InnerTextAsync();
    }
}
