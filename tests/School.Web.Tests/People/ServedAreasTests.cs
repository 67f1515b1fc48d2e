using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.Covers;
using School.Web.Tests.Diary.Waiting;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.People;

/// <summary>Instructors name the areas that they serve: shown, first among equals, and kept to only where the school says so.</summary>
public sealed class ServedAreasTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task The_office_says_it_of_anybody_and_an_instructor_of_themselves_and_what_is_wrong_changes_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (marigold, bram) = (await host.Data.InstructorAsync("Marigold Ashby"), await host.Data.InstructorAsync("Bram Holt"));
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(marigold));
        var town = await AreaAsync(office, "Town", "LK1");

        Assert.Equal(HttpStatusCode.PreconditionRequired, (await office.SendJsonAsync(Put, Url(marigold), new { areaIds = new[] { town } })).StatusCode);
        Assert.Equal("stale", await (await ServeAsync(office, marigold, "\"7\"", town)).CodeAsync(HttpStatusCode.PreconditionFailed));
        var unknown = await ServeAsync(office, marigold, "*", town, Guid.NewGuid());
        Assert.Equal(["areaIds"], await unknown.WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.BadRequest, (await office.SendJsonAsync(Put, Url(marigold), new { }, etag: "*")).StatusCode);
        Assert.Empty(Served(await office.GetJsonAsync(Url(marigold))));

        await (await ServeAsync(own, marigold, "\"1\"", town)).JsonAsync();
        Assert.Equal(HttpStatusCode.NotFound, (await ServeAsync(own, bram, "*", town)).StatusCode);
        await (await ServeAsync(office, bram, "*", town, town)).JsonAsync();
        Assert.Equal([town], Served(await office.GetJsonAsync(Url(bram))));
        Assert.Equal([town], Served(await office.GetJsonAsync($"/api/v1/instructors/{marigold.Id}")));
        // What the form about an instructor saves leaves it alone.
        var read = await office.GetAsync($"/api/v1/instructors/{bram.Id}");
        await (await office.SendJsonAsync(Put, $"/api/v1/instructors/{bram.Id}", await read.JsonAsync(), etag: read.Headers.ETag!.Tag)).JsonAsync();
        Assert.Equal([town], Served(await office.GetJsonAsync(Url(bram))));
    }

    [Fact]
    public async Task It_is_named_on_a_page_and_shown_on_the_instructors_card()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var marigold = await host.Data.InstructorAsync("Marigold Ashby");
        var town = await AreaAsync(office, "Town", "LK1");
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(marigold));
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = $"/people/instructors/{marigold.Id}/areas";
        Assert.Contains("Serves every place", await (await pages.GetAsync($"/people/instructors/{marigold.Id}")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains(page, await (await own.GetAsync("/diary/hours")).TextAsync(), StringComparison.Ordinal);

        using var saved = await own.PostFormAsync(page, ("Areas", town.ToString()), ("Version", "1"));
        Assert.Equal(HttpStatusCode.Redirect, saved.StatusCode);
        Assert.Contains("checked", await (await own.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Serves Town", await (await pages.GetAsync($"/people/instructors/{marigold.Id}")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Town", await (await pages.GetAsync("/people/instructors")).TextAsync(), StringComparison.Ordinal);
        var other = await host.Data.InstructorAsync("Bram Holt");
        Assert.Equal(HttpStatusCode.NotFound, (await own.GetAsync($"/people/instructors/{other.Id}/areas")).StatusCode);
    }

    [Fact]
    public async Task Who_serves_the_area_of_the_pick_up_comes_first_among_equals_and_the_search_says_so()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (first, second) = await TwoAsync(host);
        var pupil = await InAsync(host, "LK2 9XA");
        var (town, north) = (await AreaAsync(office, "Town", "LK1"), await AreaAsync(office, "North", "LK2"));
        // Equal in all else, the lower id comes first.
        Assert.Equal(first.Id, (await SlotsAsync(office, pupil))[0].Id("instructorId"));

        await (await ServeAsync(office, first, "*", town)).JsonAsync();
        await (await ServeAsync(office, second, "*", north)).JsonAsync();
        var found = await SlotsAsync(office, pupil);
        Assert.Equal((second.Id, "North"), (found[0].Id("instructorId"), found[0].Word("servesArea")));
        Assert.False(found.First(slot => slot.Id("instructorId") == first.Id).TryGetProperty("servesArea", out _));
        // Nobody is refused for it.
        await office.BookedAsync(pupil.Id, first.Id, Thursday10);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains($"{second.Name}, serves North", await (await pages.GetAsync($"/diary/book?pupil={pupil.Id}&with=anyone&from=2026-03-05")).TextAsync(), StringComparison.Ordinal);

        // A pick-up elsewhere, by its postcode alone, is judged by its own area.
        await LoadAsync(office);
        var elsewhere = (await office.GetJsonAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from=2026-03-06&to=2026-03-06&pickUpPostcode=LK12AB&dropOffPostcode=LK12AB")).GetProperty("items");
        Assert.Equal((first.Id, "Town"), (elsewhere[0].Id("instructorId"), elsewhere[0].Word("servesArea")));
    }

    [Fact]
    public async Task Where_the_school_says_so_nobody_is_booked_moved_or_offered_outside_the_areas_they_serve()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (first, second) = await TwoAsync(host);
        var pupil = await InAsync(host, "LK2 9XA");
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var (town, north) = (await AreaAsync(office, "Town", "LK1"), await AreaAsync(office, "North", "LK2"));
        await (await ServeAsync(office, first, "*", town)).JsonAsync();
        await (await ServeAsync(office, second, "*", north)).JsonAsync();
        var stands = await office.BookedAsync(pupil.Id, first.Id, London(2026, 3, 9, 10));

        await OnlyAsync(office);
        Assert.All(await SlotsAsync(office, pupil), slot => Assert.Equal(second.Id, slot.Id("instructorId")));
        var alone = await office.GetJsonAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from=2026-03-05&to=2026-03-05&instructorId={first.Id}");
        Assert.Equal("outside_served_areas", alone.GetProperty("obstacles")[0].Word("code"));
        // Where it is put right comes along for whoever may, and for nobody else.
        Assert.Equal($"/people/instructors/{first.Id}/areas", alone.GetProperty("obstacles")[0].Word("page"));
        var staff = await (await office.BookAsync(pupil.Id, first.Id, Thursday10)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        var read = await (await own.BookAsync(pupil.Id, first.Id, Thursday10)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(("outside_served_areas", "outside_served_areas"), (staff.Word("code"), read.Word("code")));
        Assert.Equal($"/people/instructors/{first.Id}/areas", staff.Word("page"));
        Assert.False(read.TryGetProperty("page", out _));
        Assert.Contains("change which areas the instructor serves", staff.Word("detail"), StringComparison.Ordinal);
        Assert.StartsWith("This instructor does not come to the area of your pick-up.", read.Word("detail"), StringComparison.Ordinal);
        // A lesson that stands stays, but goes nowhere else with the same instructor.
        Assert.Equal("outside_served_areas", await (await office.MoveAsync(stands.Id(), London(2026, 3, 10, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await office.MoveAsync(stands.Id(), London(2026, 3, 10, 10), second.Id)).JsonAsync();
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var check = await (await pages.GetAsync($"/diary/book/check?pupil={pupil.Id}&start=2026-03-05T10:00:00Z&minutes=60&with={first.Id}")).TextAsync();
        Assert.Contains($"/people/instructors/{first.Id}/areas", check, StringComparison.Ordinal);

        // The district goes to the other area, and with it who comes.
        await (await ChangeAsync(office, north, "North", "LK5")).JsonAsync();
        await (await ChangeAsync(office, town, "Town", "LK1", "LK2")).JsonAsync();
        Assert.Equal("outside_served_areas", await (await office.BookAsync(pupil.Id, second.Id, London(2026, 3, 6, 14))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await office.BookedAsync(pupil.Id, first.Id, Thursday10);
        // In no area any more: everybody comes.
        await (await ChangeAsync(office, town, "Town", "LK1")).JsonAsync();
        await office.BookedAsync(pupil.Id, second.Id, London(2026, 3, 6, 14));
        var nowhere = await InAsync(host, "");
        await office.BookedAsync(nowhere.Id, first.Id, London(2026, 3, 6, 10));
    }

    [Fact]
    public async Task A_pick_up_by_its_position_alone_lies_in_the_district_of_the_nearest_postcode()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (first, second) = await TwoAsync(host);
        // LK1 2AB lies at 52.397 N, LK2 9XA at 52.433 N, both at 1.2 W.
        await LoadAsync(office, "LK2 9XA");
        var (inTown, inNorth) = (await host.Data.PupilAsync(), await host.Data.PupilAsync(at: TestData.PlaceAt(stepsNorth: 21)));
        var (town, north) = (await AreaAsync(office, "Town", "LK1"), await AreaAsync(office, "North", "LK2"));
        await (await ServeAsync(office, first, "*", town)).JsonAsync();
        await (await ServeAsync(office, second, "*", north)).JsonAsync();
        await OnlyAsync(office);

        Assert.All(await SlotsAsync(office, inTown), slot => Assert.Equal((first.Id, "Town"), (slot.Id("instructorId"), slot.Word("servesArea"))));
        Assert.All(await SlotsAsync(office, inNorth), slot => Assert.Equal(second.Id, slot.Id("instructorId")));
        var there = await office.GetJsonAsync($"/api/v1/slots?pupilId={inTown.Id}&minutes=60&from=2026-03-05&to=2026-03-05&pickUpLatitude=52.43&pickUpLongitude=-1.2");
        Assert.All(there.GetProperty("items").EnumerateArray(), slot => Assert.Equal(second.Id, slot.Id("instructorId")));
        Assert.Equal("outside_served_areas", await (await office.BookAsync(inTown.Id, second.Id, Thursday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var stands = await office.BookedAsync(inTown.Id, first.Id, Thursday10);
        Assert.Equal("outside_served_areas", await (await office.MoveAsync(stands.Id(), London(2026, 3, 6, 10), second.Id)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var elsewhere = new { pupilId = inTown.Id, instructorId = first.Id, start = Text(London(2026, 3, 9, 10)), minutes = 60, pickUp = new { label = "Work", latitude = 52.43, longitude = -1.2 } };
        Assert.Equal("outside_served_areas", await (await office.SendJsonAsync(Post, "/api/v1/lessons", elsewhere)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var course = new { pupilId = inNorth.Id, instructorId = first.Id, minutes = 600, from = "2026-03-09", to = "2026-03-20", mostMinutesADay = 240, pickUp = new { label = "Work", latitude = 52.43, longitude = -1.2 } };
        Assert.Equal("outside_served_areas", await (await office.SendJsonAsync(Post, "/api/v1/courses", course)).CodeAsync(HttpStatusCode.UnprocessableEntity));

        var own = await (await office.SendJsonAsync(Post, $"/api/v1/pupils/{inTown.Id}/places", new { label = "Work", latitude = 52.43, longitude = -1.2 })).JsonAsync(HttpStatusCode.Created);
        var listed = (await office.GetJsonAsync($"/api/v1/pupils/{inTown.Id}/places")).GetProperty("items")[0];
        var station = await (await office.SendJsonAsync(Post, "/api/v1/places", new { kind = "station", at = new { label = "Station", latitude = 52.4, longitude = -1.2 } })).JsonAsync(HttpStatusCode.Created);
        Assert.Equal((north, north, town), (own.Id("areaId"), listed.Id("areaId"), station.Id("areaId")));

        // More than 5 km from every postcode: in no area, so everybody comes.
        var far = await host.Data.PupilAsync(at: TestData.PlaceAt(stepsNorth: -34));
        await office.BookedAsync(far.Id, second.Id, London(2026, 3, 10, 10));
        await office.BookedAsync(far.Id, first.Id, London(2026, 3, 11, 10));
    }

    [Fact]
    public async Task An_area_that_somebody_serves_is_not_removed_under_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var marigold = await host.Data.InstructorAsync("Marigold Ashby");
        var town = await AreaAsync(office, "Town", "LK1");
        await (await ServeAsync(office, marigold, "*", town)).JsonAsync();

        var refused = await (await office.DeleteAsync($"/api/v1/areas/{town}")).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal(("area_served", $"/people/instructors/{marigold.Id}/areas"), (refused.Word("code"), refused.Word("page")));
        Assert.Contains("Marigold Ashby", refused.Word("detail"), StringComparison.Ordinal);
        Assert.Equal([town], Served(await office.GetJsonAsync(Url(marigold))));
        await (await ServeAsync(office, marigold, "*")).JsonAsync();
        Assert.Equal(HttpStatusCode.NoContent, (await office.DeleteAsync($"/api/v1/areas/{town}")).StatusCode);
    }

    [Fact]
    public async Task Cover_leaves_out_who_does_not_serve_the_pick_up_and_says_why()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var (town, north) = (await AreaAsync(school.Office, "Town", "LK1"), await AreaAsync(school.Office, "North", "LK2"));
        await SetPostcodeAsync(school.Host, "UPDATE diary.lessons SET pick_up_postcode = 'LK2 9XA'");
        await (await ServeAsync(school.Office, school.Bram, "*", town)).JsonAsync();
        Assert.Equal(school.Bram.Id, Lines(await school.PlanAsync())[school.AtTen].GetProperty("proposed").Id("instructorId"));

        await OnlyAsync(school.Office);
        var line = Lines(await school.PlanAsync())[school.AtTen];
        Assert.Equal(JsonValueKind.Null, line.GetProperty("proposed").ValueKind);
        Assert.Contains("outside_served_areas", line.GetProperty("whyNot").EnumerateArray().Select(why => why.Word("code")));
        await (await ServeAsync(school.Office, school.Bram, "*", town, north)).JsonAsync();
        Assert.Equal(school.Bram.Id, Lines(await school.PlanAsync())[school.AtTen].GetProperty("proposed").Id("instructorId"));

        // By its position alone the pick-up lies by LK1.
        await LoadAsync(school.Office);
        await SetPostcodeAsync(school.Host, "UPDATE diary.lessons SET pick_up_postcode = ''");
        await (await ServeAsync(school.Office, school.Bram, "*", north)).JsonAsync();
        Assert.Equal(JsonValueKind.Null, Lines(await school.PlanAsync())[school.AtTen].GetProperty("proposed").ValueKind);

        static Dictionary<Guid, JsonElement> Lines(JsonElement plan) => plan.GetProperty("lines").EnumerateArray().ToDictionary(line => line.Id("lessonId"));
    }

    [Fact]
    public async Task A_freed_time_is_not_offered_to_somebody_whom_the_instructor_does_not_serve()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var town = await AreaAsync(school.Office, "Town", "LK1");
        await AreaAsync(school.Office, "North", "LK2");
        var (near, far) = (await school.WaiterAsync("Tamsin Oakley"), await school.WaiterAsync("Idris Bell"));
        await SetPostcodeAsync(school.Host, "UPDATE pupils.pupils SET pick_up_postcode = CASE WHEN name = 'Tamsin Oakley' THEN 'LK1 2AB' ELSE 'LK2 9XA' END");
        var instructor = await school.Host.WithDbAsync(db => db.Set<Instructor>().AsNoTracking().SingleAsync());
        await (await ServeAsync(school.Office, instructor, "*", town)).JsonAsync();
        await OnlyAsync(school.Office);

        await school.CancelAsync();
        await school.RoundAsync();
        Assert.Single(await WaitingSchool.OffersAsync(near.Api));
        Assert.Empty(await WaitingSchool.OffersAsync(far.Api));
    }

    private static string Url(Instructor instructor) => $"/api/v1/instructors/{instructor.Id}/areas";

    private static Task<HttpResponseMessage> ServeAsync(HttpClient api, Instructor instructor, string etag, params Guid[] areas) =>
        api.SendJsonAsync(Put, Url(instructor), new { areaIds = areas }, etag: etag);

    private static IEnumerable<Guid> Served(JsonElement read) => read.GetProperty("areaIds").EnumerateArray().Select(id => id.GetGuid());

    private static async Task<Guid> AreaAsync(HttpClient office, string name, params string[] districts) =>
        (await (await office.SendJsonAsync(Post, "/api/v1/areas", new { name, districts })).JsonAsync(HttpStatusCode.Created)).Id();

    private static Task<HttpResponseMessage> ChangeAsync(HttpClient office, Guid area, string name, params string[] districts) =>
        office.SendJsonAsync(Put, $"/api/v1/areas/{area}", new { name, districts }, etag: "*");

    private static async Task<(Instructor First, Instructor Second)> TwoAsync(SchoolHost host)
    {
        var (one, other) = (await host.Data.InstructorAsync("Marigold Ashby"), await host.Data.InstructorAsync("Bram Holt"));
        return one.Id.CompareTo(other.Id) < 0 ? (one, other) : (other, one);
    }

    private static Task<Pupil> InAsync(SchoolHost host, string postcode) => host.Data.PupilAsync(at: TestData.PlaceAt() with { Postcode = postcode });

    private static async Task<List<JsonElement>> SlotsAsync(HttpClient office, Pupil pupil) =>
        [.. (await office.GetJsonAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from=2026-03-05&to=2026-03-05")).GetProperty("items").EnumerateArray()];

    private static async Task OnlyAsync(HttpClient office)
    {
        var read = await office.GetAsync("/api/v1/diary/settings");
        var rules = JsonSerializer.Deserialize<Dictionary<string, object?>>(await read.Content.ReadAsStringAsync())!;
        rules["onlyInServedAreas"] = true;
        await (await office.SendJsonAsync(Put, "/api/v1/diary/settings", rules, etag: read.Headers.ETag!.Tag)).JsonAsync();
    }

    private static Task<int> SetPostcodeAsync(SchoolHost host, string sql) => host.WithDbAsync(db => db.Database.ExecuteSqlRawAsync(sql));

    private static async Task LoadAsync(HttpClient office, string north = "LK2 9XB")
    {
        // Made up in the form of OS Code-Point Open.
        var lines = $"\"LK1 2AB\",10,454500,278000,\"E92000001\",\"\",\"\",\"\",\"\",\"\"\n\"{north}\",10,454500,282000,\"E92000001\",\"\",\"\",\"\",\"\",\"\"\n";
        using var file = new ByteArrayContent(System.Text.Encoding.UTF8.GetBytes(lines));
        file.Headers.ContentType = new("application/octet-stream");
        (await office.PostAsync("/api/v1/postcodes", file)).EnsureSuccessStatusCode();
    }
}
