using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class OfficeJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Fact]
    public async Task The_office_moves_a_lesson_that_cannot_take_place_and_the_list_is_empty()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host, others: 1);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Desk);
        await walk.SignInAsync(await host.Data.OfficeAsync());

        await walk.Page.GotoAsync("/diary/board");
        Assert.Equal(2, await walk.Page.Locator(".lane").CountAsync());
        await walk.PressAsync("1 needs attention");
        await walk.PressAsync("Look at the lesson");
        await walk.Page.Locator("main a[href$='/move']").First.ClickAsync();
        await walk.Page.Locator("main .starts a").First.ClickAsync();
        await walk.Page.Locator("main form[method=post] button").First.ClickAsync();

        Assert.NotEqual(
            LarkfieldMonday.At(11, 45), await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == day.Tight.Id).Select(l => l.StartsAt).SingleAsync()));
        await walk.Page.GotoAsync("/diary/attention");
        Assert.Contains("Nothing waits for you", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_button_that_is_pressed_twice_in_a_row_sends_its_form_once()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Desk);
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/people/office");
        await walk.Page.GetByLabel("Name").FillAsync("Rosalind Pike");
        await walk.Page.GetByLabel("E-mail address").FillAsync("rosalind@larkfield.example");
        await walk.Page.GetByLabel("Diary:").CheckAsync();
        // Counted in the page, since a second press may be dropped on its way by chance.
        const string PressTwice = """
            () => {
              let sent = 0;
              document.addEventListener('submit', event => { if (!event.defaultPrevented) sent++; });
              const button = document.querySelector("main form[action*='Invite' i] button");
              button.click();
              button.click();
              return sent;
            }
            """;
        Assert.Equal(1, await walk.Page.EvaluateAsync<int>(PressTwice));
        await walk.Page.GetByText("The invitation for rosalind@larkfield.example is written, but goes nowhere: there is no mail server.").WaitForAsync();

        // Whoever comes back may send it again.
        await walk.Page.GotoAsync("/people/office");
        Assert.Equal(1, await walk.Page.EvaluateAsync<int>(PressTwice));
        await walk.Page.Locator(".problems").WaitForAsync();
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Every_page_of_the_office_is_accessible_and_fits_a_narrow_phone(bool dark)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host, others: 2);
        await using var walk = await Walk.StartAsync(chromium, url, new Screen(320, 800, dark));
        await walk.SignInAsync(await host.Data.OfficeAsync());
        foreach (var page in new[]
        {
            "/diary/board", "/diary/board?view=list", "/diary/attention", "/diary/settings", "/diary/holidays", "/diary/hours", "/diary/lessons/new",
            $"/diary/day?instructorId={day.Marigold.Id}", $"/diary/week?instructorId={day.Marigold.Id}", $"/diary/hours?instructorId={day.Marigold.Id}",
        })
        {
            await walk.Page.GotoAsync(page);
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }
    }
}
