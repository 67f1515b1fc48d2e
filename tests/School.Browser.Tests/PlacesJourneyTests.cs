using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Places;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>Places named, changed and removed by hand, with scripts and without.</summary>
public sealed class PlacesJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_pupil_names_a_place_gives_it_another_name_and_removes_it(bool scripts)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(JavaScript: scripts));
        await walk.SignInAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        await walk.Page.GotoAsync("/pupils/me");
        await walk.PressAsync("Your places");
        await Name(walk).FillAsync("Work");
        await walk.Page.GetByLabel("Latitude and longitude").FillAsync("52.41, -1.21");
        await walk.PressAsync("Add this place");
        await Assertions.Expect(Row(walk, "Work")).ToBeVisibleAsync();

        await walk.PressAsync("Change Work");
        await Assertions.Expect(Name(walk)).ToHaveValueAsync("Work");
        await Name(walk).FillAsync("The mill");
        await walk.PressAsync("Save changes");
        await Assertions.Expect(Row(walk, "The mill")).ToBeVisibleAsync();
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();

        await walk.PressAsync("Remove The mill");
        await Assertions.Expect(Row(walk, "The mill")).ToHaveCountAsync(0);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_office_adds_a_place_and_an_area_and_is_told_beside_the_field_what_is_wrong(bool scripts)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await host.AddAsync(new SchoolPlace { Kind = PlaceKind.Station, At = TestData.PlaceAt(label: "Larkfield halt") });
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(1280, 900, JavaScript: scripts));
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/places");
        await walk.PressAsync("Change Larkfield halt");
        await Name(walk).FillAsync("Larkfield station");
        await walk.PressAsync("Save changes");
        await Assertions.Expect(Row(walk, "Larkfield station")).ToBeVisibleAsync();

        await walk.PressAsync("Areas");
        await walk.Page.GetByLabel("Name").FillAsync("Town");
        await walk.Page.GetByLabel("Postcode districts").FillAsync("LK1, nonsense");
        await walk.PressAsync("Add this area");
        await Assertions.Expect(walk.Page.Locator(".field.wrong")).ToContainTextAsync("nonsense");
        await walk.Page.GetByLabel("Postcode districts").FillAsync("LK1, LK2");
        await walk.PressAsync("Add this area");
        await Assertions.Expect(Row(walk, "Town")).ToContainTextAsync("LK1, LK2");
    }

    private static ILocator Name(Walk walk) => walk.Page.GetByLabel("Short name");

    private static ILocator Row(Walk walk, string name) => walk.Page.GetByRole(AriaRole.Row, new() { Name = name });
}
