using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Core.Diary;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class CourseJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task From_the_pupils_card_twenty_hours_are_planned_into_a_week_on_a_phone_a_day_is_left_out_and_the_rest_booked(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(instructor));

        await walk.Page.GotoAsync($"/pupils/{pupil.Id}");
        await walk.PressAsync("Intensive course");
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        Assert.Equal("20", await walk.Page.GetByLabel("Teaching in all").InputValueAsync());
        // Too much for a week at first: everything that is wrong is told beside its field.
        await walk.Page.GetByLabel("Teaching in all").FillAsync("60");
        await walk.PressAsync("Plan the course");
        Assert.Contains("60 hours cannot be had in 7 days", await MainAsync(walk), StringComparison.Ordinal);
        await walk.Page.GetByLabel("Teaching in all").FillAsync("20");
        await walk.PressAsync("Plan the course");

        Assert.Contains("20 hours of teaching on 5 days", await MainAsync(walk), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        // Five days of two stretches with a break between them.
        Assert.Equal(10, await walk.Page.Locator("svg.course rect").CountAsync());
        var left = Guid.Parse((await walk.Page.Locator("[name='take']").Last.GetAttributeAsync("value"))!);
        await walk.Page.Locator($"#take-{left}").UncheckAsync();
        await walk.PressAsync("Book what is ticked");

        Assert.Contains("4 lessons booked", await walk.Page.GetByRole(AriaRole.Status).First.InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        var lessons = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().ToListAsync());
        Assert.Equal(4, lessons.Count);
        Assert.All(lessons, lesson => Assert.Equal((pupil.Id, instructor.Id, LessonKind.Intensive, 240, 15), (lesson.PupilId, lesson.InstructorId, lesson.Kind, lesson.Minutes, lesson.BreakMinutes)));

        // One of them becomes a mock test of an hour and a half, at its own time.
        await walk.Page.GotoAsync($"/diary/lessons/{lessons.MinBy(lesson => lesson.StartsAt)!.Id}");
        await walk.PressAsync("Another kind or length");
        await walk.ExpectAccessibleAsync();
        await walk.Page.GetByLabel("Kind of lesson").SelectOptionAsync("Mock");
        await walk.Page.GetByLabel("Teaching").FillAsync("90");
        await walk.PressAsync("Change the lesson");
        Assert.Contains("Mock test", await walk.Page.GetByRole(AriaRole.Status).First.InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectNoSidewaysScrollAsync();
    }

    private static Task<string> MainAsync(Walk walk) => walk.Page.Locator("main").InnerTextAsync();
}
