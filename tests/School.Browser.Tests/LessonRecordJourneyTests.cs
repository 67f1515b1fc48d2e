using Microsoft.Playwright;
using NodaTime;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>From the brief over the record to the pupil's own words and into the next brief.</summary>
public sealed class LessonRecordJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task From_brief_to_record_to_the_pupils_words_to_the_next_brief(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        var start = LarkfieldMonday.At(9, 0) + Duration.FromDays(7);
        var next = Lesson.Book(day.Idris.Id, day.Marigold.Id, day.Car.Id, new(start, start + Duration.FromHours(1)), day.OnNow.PickUp, day.OnNow.PickUp, host.Clock.GetCurrentInstant());
        await host.AddAsync(next);
        var screen = Screen.Phone with { JavaScript = javaScript };

        await using (var walk = await Walk.StartAsync(chromium, url, screen))
        {
            await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
            host.Clock.Reset(LarkfieldMonday.At(10, 5));
            await walk.Page.GotoAsync("/diary/day");
            await walk.Page.Locator(".strip .stop", new() { HasText = "Idris Bell" }).GetByRole(AriaRole.Link, new() { Name = "Brief" }).ClickAsync();
            await LookAsync(walk);
            Assert.Contains("Good mirrors. Signal a little earlier.", await MainAsync(walk), StringComparison.Ordinal);

            host.Clock.Reset(LarkfieldMonday.At(11, 31));
            await walk.Page.ReloadAsync();
            await walk.PressAsync("Record when parked");
            await LookAsync(walk);
            await walk.Page.Locator("summary", new() { HasText = "Junctions, roundabouts and crossings" }).ClickAsync();
            await LookAsync(walk);
            await walk.Page.GetByRole(AriaRole.Group, new() { Name = "Roundabouts" }).GetByLabel("Helped").CheckAsync();
            await walk.Page.GetByLabel("Aim for next time").FillAsync("Two roundabouts without a prompt.");
            await walk.PressAsync("Record as taught");
            await walk.Page.WaitForURLAsync("**/syllabus/lessons/*/next");
            Assert.Contains("The pupil can read it now. Next: Wren Castellan at 11:45", await walk.Page.GetByRole(AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
        }

        await using (var walk = await Walk.StartAsync(chromium, url, screen))
        {
            await walk.SignInAsync(await host.Data.PersonAsync(day.Idris));
            await walk.Page.GotoAsync($"/diary/lessons/{day.OnNow.Id}");
            await walk.PressAsync("What you learned");
            await LookAsync(walk);
            var read = await MainAsync(walk);
            Assert.All(["Roundabouts", "Helped", "Two roundabouts without a prompt."], words => Assert.Contains(words, read, StringComparison.Ordinal));
            await walk.Page.GetByLabel("How was it for you?").FillAsync("The big one scared me.");
            await walk.PressAsync("Keep your words");
            Assert.Contains("Your words are kept.", await walk.Page.GetByRole(AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
            await walk.Page.GotoAsync($"/syllabus/lessons/{next.Id}/brief");
            await LookAsync(walk);
            Assert.Contains("Two roundabouts without a prompt.", await MainAsync(walk), StringComparison.Ordinal);
        }

        await using (var walk = await Walk.StartAsync(chromium, url, screen))
        {
            await walk.SignInAsync(await host.WithDbAsync(db => Task.FromResult(db.Set<Web.Modules.People.Person>().Single(p => p.InstructorId == day.Marigold.Id))));
            await walk.Page.GotoAsync($"/syllabus/lessons/{next.Id}/brief");
            await LookAsync(walk);
            var brief = await MainAsync(walk);
            Assert.All(["Two roundabouts without a prompt.", "The big one scared me.", "Roundabouts"], words => Assert.Contains(words, brief, StringComparison.Ordinal));
            await walk.Page.GotoAsync($"/syllabus/lessons/{day.OnNow.Id}");
            await LookAsync(walk);
            await walk.Page.GotoAsync($"/syllabus/lessons/{day.OnNow.Id}/record");
            await LookAsync(walk);
        }
    }

    [Fact]
    public async Task A_brief_prints_on_one_side_of_A4()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await host.AddAsync(new LessonRecord
        {
            LessonId = day.LastWeek.Id,
            PupilId = day.Idris.Id,
            Edition = 1,
            Levels = [new() { Skill = "junctions", Level = SkillLevel.Helped }, new() { Skill = "roundabouts", Level = SkillLevel.Introduced }],
            Aim = "Right turns out of side roads: look, decide, go or wait.",
            Reflection = "The big roundabout scares me a bit.",
            RecordedAt = day.LastWeek.EndsAt,
            RecordedBy = day.Marigold.Id,
        });
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Desk);
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
        await walk.Page.GotoAsync($"/syllabus/lessons/{day.OnNow.Id}/brief");
        await walk.Page.EmulateMediaAsync(new() { Media = Media.Print });
        Assert.True(await walk.Page.Locator(".skill-brief li").First.IsVisibleAsync());
        var pdf = System.Text.Encoding.Latin1.GetString(await walk.Page.PdfAsync(new() { Format = "A4" }));
        Assert.Single(System.Text.RegularExpressions.Regex.Matches(pdf, @"/Type\s*/Page\b"));
    }

    [Fact]
    public async Task Every_level_is_a_target_for_a_thumb()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone);
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
        await walk.Page.GotoAsync($"/syllabus/lessons/{day.OnNow.Id}/record");
        var choices = walk.Page.Locator(".skill").First.Locator(".level-choice");
        Assert.Equal(6, await choices.CountAsync());
        foreach (var choice in await choices.AllAsync())
        {
            var box = await choice.BoundingBoxAsync();
            Assert.True(box is { Height: >= 44, Width: >= 44 }, $"{box?.Width} by {box?.Height} px");
        }
    }

    private static async Task LookAsync(Walk walk)
    {
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
    }

    private static Task<string> MainAsync(Walk walk) => walk.Page.Locator("main").InnerTextAsync();
}
