using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Places;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>A place picked on the map: by pointer, by keyboard, and not at all where there is none.</summary>
public sealed class PlaceMapTests(TestPostgres postgres, Chromium chromium)
{
    private const string Source = "Invented ground by <i>Larkfield Surveys</i>";
    private const double HalfPixel = 0.00002; // of longitude at the zoom at which a known place opens: 360 / 256 / 2^16, rounded up

    private static readonly (double Latitude, double Longitude) Mill = (52.4, -1.2);

    [Theory]
    [InlineData(390, false)]
    [InlineData(1280, true)]
    public async Task A_place_is_picked_by_pointer_and_kept(int width, bool dark)
    {
        await using var tiles = await TileServer.StartAsync();
        await using var host = await StartAsync(tiles);
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, new(width, 844, dark));
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        await OpenAsync(walk);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await ExpectLargeTargetsAsync(walk);
        Assert.Equal(Source, await walk.Page.Locator(".map-source").InnerTextAsync());

        var box = (await Map(walk).BoundingBoxAsync())!;
        await walk.Page.Mouse.ClickAsync(box.X + (box.Width / 2) + 60, box.Y + (box.Height / 2) - 40);

        var zoom = tiles.Asked.Max(tile => tile.Zoom);
        ExpectNear(TileServer.Moved(Mill, zoom, 60, -40), await PositionAsync(walk));
        Assert.Matches("^52\\.\\d{5}, -1\\.\\d{5}$", await Field(walk).InputValueAsync());
        Assert.Equal($"The pin is at {await Field(walk).InputValueAsync()}.", await Said(walk).InnerTextAsync());

        // The pin's middle is above its point, so it is dragged by the distance and not to a place.
        var pin = (await walk.Page.Locator(".pin").BoundingBoxAsync())!;
        var (x, y) = (pin.X + (pin.Width / 2), pin.Y + (pin.Height / 2));
        await walk.Page.Mouse.MoveAsync(x, y);
        await walk.Page.Mouse.DownAsync();
        await walk.Page.Mouse.MoveAsync(x - 50, y + 30, new() { Steps = 5 });
        await walk.Page.Mouse.UpAsync();

        ExpectNear(TileServer.Moved(Mill, zoom, 10, -10), await PositionAsync(walk));
        await ExpectSavedAsync(host, walk, pupil);
        Assert.Empty(tiles.Referrers);
    }

    [Fact]
    public async Task A_place_is_picked_with_the_keyboard_alone_and_kept()
    {
        await using var tiles = await TileServer.StartAsync();
        await using var host = await StartAsync(tiles);
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, Screen.Phone);
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        var keys = walk.Page.Keyboard;
        await Field(walk).FocusAsync();
        await keys.PressAsync("Tab");
        await Assertions.Expect(Button(walk, "Where I am now")).ToBeFocusedAsync();
        await keys.PressAsync("Tab");
        await keys.PressAsync("Enter");
        await keys.PressAsync("Tab");
        await Assertions.Expect(Map(walk)).ToBeFocusedAsync();
        await walk.Page.Locator(".leaflet-tile-loaded").First.WaitForAsync();
        await keys.PressAsync("ArrowRight");
        await keys.PressAsync("ArrowDown");
        for (var tabs = 0; tabs < 3; tabs++)
        {
            await keys.PressAsync("Tab");
        }

        await Assertions.Expect(Button(walk, "Use the middle of the map")).ToBeFocusedAsync();
        await keys.PressAsync("Enter");

        // An arrow moves the map by 80 pixels.
        ExpectNear(TileServer.Moved(Mill, tiles.Asked.Max(tile => tile.Zoom), 80, 80), await PositionAsync(walk));
        Assert.StartsWith("The pin is at 52.", await Said(walk).InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();

        await keys.PressAsync("Tab");
        await keys.PressAsync("Enter");
        await Assertions.Expect(Button(walk, "Choose on a map")).ToBeFocusedAsync();
        await Assertions.Expect(Map(walk)).ToBeHiddenAsync();
        await ExpectSavedAsync(host, walk, pupil);
    }

    [Fact]
    public async Task Plus_and_minus_zoom_and_never_closer_than_the_source_goes()
    {
        await using var tiles = await TileServer.StartAsync();
        await using var host = await StartAsync(tiles, ("Map:MaxZoom", "17"));
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, Screen.Desk);
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        await OpenAsync(walk);
        await Map(walk).FocusAsync();
        foreach (var (press, zoom) in new[] { ("+", 17), ("+", 17), ("-", 16), ("-", 15) })
        {
            await walk.Page.Keyboard.PressAsync(press);
            await ExpectZoomAsync(walk, zoom);
        }

        await Button(walk, "Zoom out").ClickAsync();
        await ExpectZoomAsync(walk, 14);
        await Button(walk, "Zoom in").ClickAsync();
        await ExpectZoomAsync(walk, 15);
        Assert.Equal(17, tiles.Asked.Max(tile => tile.Zoom));
    }

    [Fact]
    public async Task What_is_typed_moves_the_pin_and_a_new_pupils_map_opens_where_the_school_is()
    {
        await using var tiles = await TileServer.StartAsync();
        await using var host = await StartAsync(tiles);
        await host.Data.InstructorAsync(at: TestData.PlaceAt());
        await using var walk = await WalkAsync(host, Screen.Phone);
        await walk.Page.GotoAsync("/pupils/new");
        await walk.Page.GetByText("More, now or later").ClickAsync();
        await OpenAsync(walk);
        await Assertions.Expect(walk.Page.Locator(".pin")).ToHaveCountAsync(0);
        await Button(walk, "Use the middle of the map").ClickAsync();
        ExpectNear(Mill, await PositionAsync(walk));

        await Field(walk).FillAsync("geo:52.5,-1.3;u=20");
        await Button(walk, "Use the middle of the map").ClickAsync();

        Assert.Equal("52.50000, -1.30000", await Field(walk).InputValueAsync());
        await Assertions.Expect(walk.Page.Locator(".pin")).ToHaveCountAsync(1);
    }

    [Fact]
    public async Task A_source_that_does_not_answer_is_told_and_the_position_can_still_be_typed()
    {
        await using var tiles = await TileServer.StartAsync();
        await using var host = await StartAsync(tiles);
        await tiles.DisposeAsync();
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, Screen.Phone);
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");

        await Button(walk, "Choose on a map").ClickAsync();

        await Assertions.Expect(Said(walk)).ToHaveTextAsync("Some of the map did not arrive. The position can also be typed.");
        await Field(walk).FillAsync("52.41, -1.21");
        await ExpectSavedAsync(host, walk, pupil);
    }

    [Fact]
    public async Task Without_scripts_the_position_is_typed_and_neither_map_nor_device_is_mentioned()
    {
        await using var tiles = await TileServer.StartAsync();
        await using var host = await StartAsync(tiles);
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, new(JavaScript: false));
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");

        Assert.Equal("52.4, -1.2", await Field(walk).InputValueAsync());
        await Assertions.Expect(Button(walk, "Choose on a map")).ToHaveCountAsync(0);
        await Assertions.Expect(Button(walk, "Where I am now")).ToHaveCountAsync(0);
        Assert.Empty(tiles.Asked);
    }

    [Theory]
    [InlineData(390, true)]
    [InlineData(1280, false)]
    public async Task Without_tiles_the_map_draws_the_places_that_the_school_knows_and_tells_how_far_the_pin_is(int width, bool dark)
    {
        await using var host = await ListenAsync();
        await host.AddAsync(new SchoolPlace { Kind = PlaceKind.Station, At = TestData.PlaceAt(label: "Larkfield station") });
        await host.AddAsync(new SchoolPlace { Kind = PlaceKind.School, At = TestData.PlaceAt(stepsNorth: 40, stepsEast: 40, label: "Hill school") });
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, new(width, 844, dark));
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        Assert.Equal(0, await walk.Page.EvaluateAsync<int>("() => performance.getEntriesByType('resource').filter(r => r.name.includes('leaflet.js')).length"));

        await Button(walk, "Choose on a map").ClickAsync();
        await Assertions.Expect(walk.Page.Locator(".known-name")).ToHaveTextAsync(["Hill school", "Larkfield station"]);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();

        await Field(walk).FillAsync("52.41, -1.2");
        await Button(walk, "Use the middle of the map").ClickAsync();

        // 0.01 degrees of latitude are 1.11 km (WGS 84: 111.2 km a degree at these latitudes).
        await Assertions.Expect(Said(walk)).ToHaveTextAsync(new Regex(@"^The pin is at 52\.4\d{4}, -1\.\d{5}, 1\.1 km north of Larkfield station\.$"));
        await ExpectSavedAsync(host, walk, pupil);
    }

    [Fact]
    public async Task Where_I_am_now_asks_the_device_on_press_only_and_enters_what_it_knows_well_enough()
    {
        await using var host = await ListenAsync();
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, Screen.Phone);
        await walk.Page.AddInitScriptAsync("""
            window.asked = 0;
            Object.defineProperty(navigator.geolocation, 'getCurrentPosition', { value: (tell, fail) => { window.asked++; window.device(tell, fail); } });
            """);
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        Assert.Equal(0, await walk.Page.EvaluateAsync<int>("() => window.asked"));
        var said = walk.Page.Locator(".here-said");

        await AnswerAsync("(tell, fail) => fail({ code: 1, PERMISSION_DENIED: 1, TIMEOUT: 3 })");
        await Assertions.Expect(said).ToContainTextAsync("may not tell this page where it is");
        await AnswerAsync("(tell, fail) => fail({ code: 3, PERMISSION_DENIED: 1, TIMEOUT: 3 })");
        await Assertions.Expect(said).ToContainTextAsync("did not find out where it is in time");
        await AnswerAsync("tell => tell({ coords: { latitude: 52.45, longitude: -1.25, accuracy: 5000 } })");
        await Assertions.Expect(said).ToContainTextAsync("only to about 5.0 km");
        Assert.Equal("52.4, -1.2", await Field(walk).InputValueAsync());

        await AnswerAsync("tell => tell({ coords: { latitude: 52.5, longitude: -1.2, accuracy: 12 } })");
        await Assertions.Expect(said).ToHaveTextAsync("This place was entered, to about 10 m. It is 11 km from the place that stood here: is it right?");
        await AnswerAsync("tell => tell({ coords: { latitude: 52.401234, longitude: -1.201234, accuracy: 12 } })");
        await Assertions.Expect(said).ToHaveTextAsync("This place was entered, to about 10 m.");
        await walk.ExpectAccessibleAsync();
        Assert.Equal("52.40123, -1.20123", await Field(walk).InputValueAsync());
        await ExpectSavedAsync(host, walk, pupil);

        // What is typed while the device thinks is not written over.
        await AnswerAsync("tell => { window.late = () => tell({ coords: { latitude: 52.5, longitude: -1.5, accuracy: 5 } }); }");
        await Field(walk).FillAsync("52.41, -1.21");
        await walk.Page.EvaluateAsync("() => window.late()");
        await Assertions.Expect(said).ToHaveTextAsync("Something else was entered meanwhile, so nothing was changed.");
        Assert.Equal("52.41, -1.21", await Field(walk).InputValueAsync());

        async Task AnswerAsync(string device)
        {
            await walk.Page.EvaluateAsync($"() => {{ window.device = {device}; }}");
            await Button(walk, "Where I am now").ClickAsync();
        }
    }

    [Fact]
    public async Task A_map_that_does_not_arrive_says_so_at_each_press_and_comes_when_it_can()
    {
        await using var host = await ListenAsync();
        await host.AddAsync(new SchoolPlace { Kind = PlaceKind.Station, At = TestData.PlaceAt(label: "Larkfield station") });
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, Screen.Phone);
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        // Not by holding the request: what the service worker has already would come all the same.
        var library = await walk.Page.EvaluateAsync<string>("() => { const one = document.getElementById('map-library'), was = one.src; one.src = '/lib/gone.js'; return was; }");

        await Button(walk, "Choose on a map").ClickAsync();
        await Assertions.Expect(Said(walk)).ToHaveTextAsync("The map did not arrive. The position can also be typed.");
        await Button(walk, "Use the middle of the map").ClickAsync();
        await Assertions.Expect(Said(walk)).ToHaveTextAsync("The map is not there yet. The position can also be typed.");

        await walk.Page.EvaluateAsync("was => { document.getElementById('map-library').src = was; }", library);
        await Button(walk, "Close the map").ClickAsync();
        await Button(walk, "Choose on a map").ClickAsync();
        await Assertions.Expect(walk.Page.Locator(".known-name")).ToHaveTextAsync(["Larkfield station"]);
    }

    [Fact]
    public async Task A_school_without_places_says_that_there_is_nothing_to_draw()
    {
        await using var host = await ListenAsync();
        var pupil = await host.Data.PupilAsync();
        await using var walk = await WalkAsync(host, Screen.Phone);
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        await Button(walk, "Choose on a map").ClickAsync();
        await Assertions.Expect(Said(walk)).ToHaveTextAsync("The school knows no places yet, so there is nothing to draw. Enter the postcode, or the position.");
    }

    [Fact]
    public async Task A_position_that_is_pointed_at_takes_the_tick_off_a_place_that_was_to_be_found()
    {
        await using var host = await ListenAsync();
        var pupil = await host.Data.PupilAsync(at: TestData.PlaceAt() with { Postcode = "LK1 2AB", Certainty = PlaceCertainty.ToBeFound });
        await using var walk = await WalkAsync(host, Screen.Phone);
        await walk.Page.AddInitScriptAsync("Object.defineProperty(navigator.geolocation, 'getCurrentPosition', { value: tell => tell({ coords: { latitude: 52.41, longitude: -1.21, accuracy: 9 } }) });");
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        var open = walk.Page.GetByLabel("still to be found");
        Assert.True(await open.IsCheckedAsync());

        await Button(walk, "Where I am now").ClickAsync();

        await Assertions.Expect(open).Not.ToBeCheckedAsync();
        await ExpectSavedAsync(host, walk, pupil);
    }

    private Task<SchoolHost> StartAsync(TileServer tiles, params (string, string)[] more) =>
        ListenAsync([("Map:Tiles", tiles.Address), ("Map:Attribution", Source), .. more]);

    private Task<SchoolHost> ListenAsync(params (string, string)[] settings) => SchoolHost.ListeningAsync(postgres, settings);

    private async Task<Walk> WalkAsync(SchoolHost host, Screen screen)
    {
        var walk = await Walk.StartAsync(chromium, host.ClientOptions.BaseAddress.ToString(), screen);
        await walk.SignInAsync(await host.Data.OfficeAsync());
        return walk;
    }

    private static ILocator Field(Walk walk) => walk.Page.GetByLabel("Latitude and longitude");

    private static ILocator Map(Walk walk) => walk.Page.GetByRole(AriaRole.Application);

    private static ILocator Said(Walk walk) => walk.Page.Locator(".map-said[role=status]");

    private static ILocator Button(Walk walk, string words) => walk.Page.GetByRole(AriaRole.Button, new() { Name = words });

    private static async Task OpenAsync(Walk walk)
    {
        await Button(walk, "Choose on a map").ClickAsync();
        await walk.Page.Locator(".leaflet-tile-loaded").First.WaitForAsync();
        await Map(walk).ScrollIntoViewIfNeededAsync();
    }

    private static async Task<(double Latitude, double Longitude)> PositionAsync(Walk walk) => TileServer.Read(await Field(walk).InputValueAsync());

    private static void ExpectNear((double Latitude, double Longitude) expected, (double Latitude, double Longitude) found)
    {
        Assert.Equal(expected.Latitude, found.Latitude, HalfPixel);
        Assert.Equal(expected.Longitude, found.Longitude, HalfPixel);
    }

    private static async Task ExpectZoomAsync(Walk walk, int zoom)
    {
        await Assertions.Expect(walk.Page.Locator($".leaflet-tile-loaded[src*='/{zoom}/']").First).ToBeVisibleAsync();
        await Assertions.Expect(walk.Page.Locator($".leaflet-tile:not([src*='/{zoom}/'])")).ToHaveCountAsync(0);
    }

    private static async Task ExpectLargeTargetsAsync(Walk walk)
    {
        foreach (var button in await walk.Page.Locator(".map-panel button, .beside button").AllAsync())
        {
            var box = (await button.BoundingBoxAsync())!;
            Assert.True(box.Width >= 44 && box.Height >= 44, $"{await button.InnerTextAsync()} is {box.Width} by {box.Height}.");
        }
    }

    private static async Task ExpectSavedAsync(SchoolHost host, Walk walk, Pupil pupil)
    {
        var picked = await PositionAsync(walk);
        await walk.PressAsync("Save changes");
        await walk.Page.GetByText("is kept.").WaitForAsync();

        var kept = await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id).Select(p => p.PickUp).SingleAsync());
        Assert.Equal(picked, (kept.Latitude, kept.Longitude));
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}/change");
        Assert.Equal(picked, await PositionAsync(walk));
    }
}
