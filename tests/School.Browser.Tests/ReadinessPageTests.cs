using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class ReadinessPageTests(TestPostgres postgres, Chromium chromium)
{
    [Fact]
    public async Task Forecast_and_backtest_with_their_figures_are_accessible_and_fit_a_narrow_screen()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var teacher = await host.TeacherAsync();
        for (var i = 0; i < 3; i++)
        {
            var done = await host.Data.PupilAsync(i == 0 ? "Corin Marsh-Castellan of Harbour Street" : $"Linnet Brook {i}");
            await host.TeachAsync(teacher, done, 20 + (7 * i), new LocalDate(2024, 1, 8).PlusDays(i), lesson => Math.Min(4, 1 + (lesson / 6)), minutes: 90);
            await host.PassAsync(done, new LocalDate(2025, 3, 3).PlusDays(i));
        }

        var pupil = await host.Data.PupilAsync();
        await host.TeachAsync(teacher, pupil, 18, new(2025, 11, 1), lesson => 1 + (lesson / 6));
        foreach (var screen in new[] { new Screen(320, 640), new Screen(1280, 900, Dark: true) })
        {
            await using var office = await Walk.StartAsync(chromium, url, screen);
            await office.SignInAsync(await host.Data.OfficeAsync());
            await office.Page.GotoAsync($"/syllabus/readiness/{pupil.Id}");
            await office.Page.GetByText("The same in figures").ClickAsync();
            await Assertions.Expect(office.Page.Locator("svg.growth")).ToBeVisibleAsync();
            await Assertions.Expect(office.Page.GetByText("This is arithmetic. The instructor decides.").First).ToBeVisibleAsync();
            await office.ExpectAccessibleAsync();
            await office.ExpectNoSidewaysScrollAsync();
            await office.PressAsync("Past forecasts");
            await Assertions.Expect(office.Page.GetByRole(AriaRole.Heading, new() { Name = "Pupil by pupil" })).ToBeVisibleAsync();
            await office.ExpectAccessibleAsync();
            await office.ExpectNoSidewaysScrollAsync();
        }
    }
}
