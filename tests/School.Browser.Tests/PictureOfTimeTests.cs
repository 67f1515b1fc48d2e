using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>The board and the week as Chromium draws them.</summary>
public sealed class PictureOfTimeTests(TestPostgres postgres, Chromium chromium)
{
    // Against what the words say, not against the server's own per cent: the hours above the lanes, and the times in each title.
    private const string Misplaced = """
        () => {
          const figure = words => 60 * +document.querySelector(words).textContent;
          const [from, to] = [figure('.axis .first'), figure('.axis .last')];
          const clock = words => 60 * +words.slice(0, 2) + +words.slice(3, 5);
          const wrong = [];
          let seen = 0;
          for (const link of document.querySelectorAll('.lane .ground > a:not(.away)')) {
            const [, start, end] = link.querySelector('title').textContent.match(/(\d\d:\d\d) to (\d\d:\d\d)/);
            const lane = link.closest('svg.lane').getBoundingClientRect();
            const wide = lane.width / (to - from);
            const plate = link.querySelector('svg');
            const off = [plate.x.baseVal.value - wide * (clock(start) - from), plate.width.baseVal.value - wide * (clock(end) - clock(start)),
              plate.querySelector('use').getBoundingClientRect().left - lane.left - wide * (clock(start) - from)];
            if (off.some(px => Math.abs(px) > 1)) wrong.push(`${link.querySelector('title').textContent}: ${off}`);
            seen++;
          }
          return seen === 0 ? ['nothing is drawn'] : wrong;
        }
        """;

    private const string DoubledText = "() => { document.documentElement.style.fontSize = '212.5%'; }";

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Eight_instructors_and_what_needs_attention_fit_a_desk_without_scrolling(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 8);
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(1280, 800, JavaScript: javaScript));
        var office = await host.Data.OfficeAsync();
        await walk.SignInAsync(office);
        await walk.Page.GotoAsync("/diary/board");
        Assert.Equal(8, await walk.Page.Locator("svg.lane").CountAsync());
        Assert.Equal(32, await walk.Page.Locator(".lane .ground > a:not(.away, .opening)").CountAsync());
        if (javaScript)
        {
            await walk.Page.Locator(".needs .cure").First.WaitForAsync();
            Assert.InRange(await walk.Page.EvaluateAsync<int>("document.documentElement.scrollHeight"), 700, 800);
        }
        else
        {
            await walk.Page.Locator(".needs h2 a").ClickAsync();
            Assert.EndsWith("/diary/attention", walk.Page.Url, StringComparison.Ordinal);
        }
    }

    [Theory]
    [InlineData(1280)]
    [InlineData(1440)]
    [InlineData(390)]
    public async Task Plates_stand_where_their_times_say(int width)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 3);
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(width, 800));
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/board");
        Assert.Empty(await walk.Page.EvaluateAsync<string[]>(Misplaced));
        // Moved by hand, it is found.
        await walk.Page.EvaluateAsync("() => document.querySelector('.lane .ground > .booked > svg').setAttribute('x', '20%')");
        Assert.Single(await walk.Page.EvaluateAsync<string[]>(Misplaced));
    }

    [Fact]
    public async Task Thirty_scroll_under_the_scale()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 30);
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(1280, 800));
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/board");
        await walk.ExpectAccessibleAsync();
        await walk.Page.EvaluateAsync("() => scrollTo(0, 700)");
        Assert.Equal(0, await walk.Page.EvaluateAsync<double>("document.querySelector('.axis-row').getBoundingClientRect().top"));
        Assert.InRange(await walk.Page.EvaluateAsync<double>("document.querySelector('.lane .face') ? document.querySelector('#p .face').height.baseVal.value : 24"), 24, 42);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Board_and_week_fit_and_are_accessible_on_every_screen(bool dark)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 3);
        var marigold = await host.WithDbAsync(db => Task.FromResult(db.Set<Web.Modules.People.Instructor>().Single(i => i.Name == "Marigold Ashby").Id));
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(1280, 800, dark));
        await walk.SignInAsync(await host.Data.OfficeAsync());
        foreach (var page in new[] { "/diary/board", $"/diary/week?instructorId={marigold}", "/diary/board?view=list", $"/diary/week?instructorId={marigold}&view=list", "/diary/fortnight", "/diary/fortnight?weeks=1&gearbox=Manual" })
        {
            await walk.Page.GotoAsync(page);
            foreach (var width in new[] { 1280, 960, 390, 320 })
            {
                await walk.LookAgainAsync(new(width, 800, dark));
                await walk.ExpectNoSidewaysScrollAsync();
                await walk.ExpectAccessibleAsync();
            }

            await walk.Page.EvaluateAsync(DoubledText);
            foreach (var width in new[] { 320, 390, 1280 })
            {
                await walk.LookAgainAsync(new(width, 800, dark));
                await walk.ExpectNoSidewaysScrollAsync();
            }
        }
    }

    [Fact]
    public async Task On_a_phone_a_row_is_one_target_and_says_in_words_what_it_draws()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 2);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = false });
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/board");
        var words = walk.Page.Locator(".lane-words");
        Assert.Contains("until 13:00. Next 15:00", await words.First.InnerTextAsync(), StringComparison.Ordinal);
        Assert.Contains("in time off", await words.Nth(1).InnerTextAsync(), StringComparison.Ordinal);
        var row = (await walk.Page.Locator(".lanes > li").First.BoundingBoxAsync())!;
        await walk.Page.Mouse.ClickAsync(row.X + row.Width / 2, row.Y + row.Height / 2);
        await walk.Page.WaitForURLAsync("**/diary/day?**");
    }
}
