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
        await boxes.First.UncheckAsync();
        await walk.PressAsync("Carry out what is ticked");

        Assert.Contains("Carried out", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        var lessons = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().ToDictionaryAsync(l => l.Id));
        Assert.Equal((day.Marigold.Id, LessonState.Booked), (lessons[left].InstructorId, lessons[left].State));
        Assert.True(lessons[taken].InstructorId != day.Marigold.Id || lessons[taken].State == LessonState.Cancelled);
        await walk.Page.GotoAsync("/diary/attention");
        Assert.Contains("Lessons that cannot take place as booked", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
    }
}
