using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class CoverJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Fact]
    public async Task The_office_finds_cover_for_an_ill_instructor_leaves_a_line_out_and_carries_the_rest_out()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host, others: 2);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Desk);
        await walk.SignInAsync(await host.Data.OfficeAsync());

        await walk.Page.GotoAsync($"/diary/covers?instructorId={day.Marigold.Id}");
        await walk.Page.Locator("[name='Input.MayMove']").SelectOptionAsync("120");
        await walk.ExpectAccessibleAsync();
        await walk.PressAsync("Find cover");
        Assert.Contains("can be covered", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();

        var boxes = walk.Page.Locator("[name='take']");
        var left = Guid.Parse((await boxes.First.GetAttributeAsync("value"))!);
        var taken = Guid.Parse((await boxes.Last.GetAttributeAsync("value"))!);
        Assert.NotEqual(left, taken);
        await boxes.Last.CheckAsync();
        await boxes.First.UncheckAsync();
        // The button follows what is ticked; a cancellation among it would be asked once more.
        var named = await walk.Page.Locator("[data-count]").InnerTextAsync();
        Assert.Matches("^(Move|Cancel) 1 lesson$", named);
        await walk.PressAsync(named);
        if (named.StartsWith("Cancel", StringComparison.Ordinal))
        {
            await walk.ExpectAccessibleAsync();
            await walk.PressAsync(named);
        }

        Assert.Contains("left as it was", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        var lessons = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().ToDictionaryAsync(l => l.Id));
        Assert.Equal((day.Marigold.Id, LessonState.Booked), (lessons[left].InstructorId, lessons[left].State));
        Assert.True(lessons[taken].InstructorId != day.Marigold.Id || lessons[taken].State == LessonState.Cancelled);
        await walk.Page.GotoAsync("/diary/attention");
        Assert.Contains("Lessons that cannot take place as booked", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task From_what_needs_attention_cover_is_found_and_carried_out_on_a_phone(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host, others: 2);
        await host.AddAsync(new Web.Modules.Diary.Hours.TimeOffRow
        {
            InstructorId = day.Marigold.Id,
            StartsAt = LarkfieldMonday.At(11, 35),
            EndsAt = LarkfieldMonday.At(18, 0),
            Reason = "dentist",
        });
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/attention");
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.PressAsync("Find cover");
        Assert.Equal("dentist", await walk.Page.Locator("[name='Input.Reason']").InputValueAsync());
        await walk.PressAsync("Find cover");
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        var button = walk.Page.Locator("[data-count]");
        if ((await button.InnerTextAsync()).StartsWith("Tick", StringComparison.Ordinal))
        {
            await walk.Page.Locator("[name='take']").First.CheckAsync();
        }

        await button.ClickAsync();
        for (var sure = walk.Page.Locator("#sure"); await sure.CountAsync() > 0;)
        {
            await walk.ExpectNoSidewaysScrollAsync();
            await walk.Page.Locator("section.card button").ClickAsync();
        }

        Assert.Contains("below as it was booked, and what was done", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectNoSidewaysScrollAsync();
    }
}
