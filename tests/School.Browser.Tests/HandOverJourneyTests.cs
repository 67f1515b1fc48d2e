using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>The office hands a pupil over for good; the new instructor opens the letter's brief. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class HandOverJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_pupil_goes_to_another_instructor_with_all_lessons_but_one(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var (from, to) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Piers Anstey"));
        var (pupil, other) = (await host.Data.PupilAsync("Tamsin Oakley", instructor: from.Id), await host.Data.PupilAsync("Wren Castellan", instructor: to.Id));
        var officer = await host.Data.OfficeAsync("Ottilie Crane");
        await using var scope = host.Services.CreateAsyncScope();
        var book = scope.ServiceProvider.GetRequiredService<BookLesson>();
        var thursday = Instant.FromUtc(2026, 3, 5, 10, 0);
        foreach (var (who, with, at) in new[] { (pupil, from, thursday), (pupil, from, thursday + Duration.FromDays(7)), (other, to, thursday + Duration.FromDays(7)) })
        {
            Assert.True((await book.RunAsync(Viewer.Service, new(who.Id, with.Id, at, 60), TestContext.Current.CancellationToken)).Ok);
        }

        await using var office = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await office.SignInAsync(officer);
        await office.Page.GotoAsync($"/pupils/{pupil.Id}");
        await office.PressAsync("Hand over for good");
        await office.ExpectAccessibleAsync();
        await office.Page.GetByLabel("New instructor").SelectOptionAsync(new SelectOptionValue { Label = "Piers Anstey" });
        await office.PressAsync("See what it would do");
        var main = await office.Page.Locator("main").InnerTextAsync();
        Assert.Contains("stays", main, StringComparison.Ordinal);
        Assert.Equal(1, await office.Page.Locator("input[name=take]").CountAsync());
        await office.ExpectAccessibleAsync();
        await office.ExpectNoSidewaysScrollAsync();
        await office.PressAsync("Hand over to Piers Anstey");
        Assert.Contains("This was carried out.", await office.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await office.ExpectAccessibleAsync();

        var letter = Assert.Single(await host.SaidAsync(all => all.Where(m => m.Kind == "pupil_handed_over" && m.ToName == "Piers Anstey")));
        var brief = letter.Text.Split('\n').Select(line => line[(line.IndexOf("/syllabus", StringComparison.Ordinal) is > 0 and var at ? at : 0)..].Trim()).First(line => line.EndsWith("/brief", StringComparison.Ordinal));
        await using var instructor = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await instructor.SignInAsync(await host.Data.PersonAsync(to));
        await instructor.Page.GotoAsync(brief);
        Assert.Contains("Tamsin Oakley", await instructor.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal(brief, new Uri(instructor.Page.Url).AbsolutePath);
    }
}
