using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>Staff propose a swap; two pupils answer, one by the link in the letter and one signed in.</summary>
public sealed partial class SwapJourneyTests(TestPostgres postgres, Chromium chromium)
{
    private static readonly Instant Thursday10 = SchoolHost.London.AtStrictly(new LocalDateTime(2026, 3, 5, 10, 0)).ToInstant();

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Two_pupils_agree_on_their_phones_and_only_then_both_lessons_move(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var (marigold, bram) = (await host.Data.InstructorAsync("Marigold Ashby"), await host.Data.InstructorAsync("Bram Holt"));
        var (tamsin, wren) = (await host.Data.PupilAsync("Tamsin Oakley"), await host.Data.PupilAsync("Wren Castellan"));
        await using var scope = host.Services.CreateAsyncScope();
        var (book, cancel) = (scope.ServiceProvider.GetRequiredService<BookLesson>(), TestContext.Current.CancellationToken);
        var one = (await book.RunAsync(Viewer.Service, new(tamsin.Id, marigold.Id, Thursday10, 60), cancel)).Value!.Id;
        var other = (await book.RunAsync(Viewer.Service, new(wren.Id, bram.Id, Thursday10 + Duration.FromHours(4), 60), cancel)).Value!.Id;

        var screen = Screen.Phone with { JavaScript = javaScript };
        await using var office = await Walk.StartAsync(chromium, host.Url, screen);
        await office.SignInAsync(await host.Data.OfficeAsync());
        await office.Page.GotoAsync($"/diary/lessons/{one}");
        await office.PressAsync("Swap with another lesson");
        await LooksWellAsync(office);
        await office.Page.GetByRole(AriaRole.Link, new() { Name = "Wren Castellan" }).ClickAsync();
        await LooksWellAsync(office);
        await office.PressAsync("Propose the swap");
        await LooksWellAsync(office);

        var letter = Assert.Single(await host.SaidAsync(all => all.Where(m => m.Kind == "swap_asked" && m.ToName == "Tamsin Oakley")));
        await using var first = await Walk.StartAsync(chromium, host.Url, screen);
        var link = Link().Match(WebUtility.HtmlDecode(letter.Html)).Value;
        await first.Page.GotoAsync(link);
        Assert.Contains("Would become", await first.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await LooksWellAsync(first);
        await first.PressAsync("Yes, swap");
        Assert.Contains("You said yes.", await first.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await LooksWellAsync(first);
        Assert.Equal((marigold.Id, Thursday10), await PlaceAsync(one));
        Assert.Equal((bram.Id, Thursday10 + Duration.FromHours(4)), await PlaceAsync(other));

        await using var second = await Walk.StartAsync(chromium, host.Url, screen);
        await second.SignInAsync(await host.Data.PersonAsync(wren));
        await second.Page.GotoAsync(link.Split('?')[0]);
        await LooksWellAsync(second);
        await second.PressAsync("Yes, swap");
        Assert.Contains("Your lesson is now", await second.Page.Locator("body").InnerTextAsync(), StringComparison.Ordinal);
        await LooksWellAsync(second);
        Assert.Equal((bram.Id, Thursday10 + Duration.FromHours(4)), await PlaceAsync(one));
        Assert.Equal((marigold.Id, Thursday10), await PlaceAsync(other));

        await first.Page.GotoAsync(link);
        Assert.Contains("Your lesson was swapped.", await first.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await office.Page.ReloadAsync();
        Assert.Contains("✓ swapped", await office.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await LooksWellAsync(office);

        async Task<(Guid, Instant)> PlaceAsync(Guid id)
        {
            var lesson = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == id));
            return (lesson.InstructorId, lesson.StartsAt);
        }
    }

    private static async Task LooksWellAsync(Walk walk)
    {
        await walk.Page.WaitForLoadStateAsync(LoadState.Load);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
    }

    [GeneratedRegex("/diary/swaps/[0-9a-f-]{36}[?]key=[A-Za-z0-9_-]+")]
    private static partial Regex Link();
}
