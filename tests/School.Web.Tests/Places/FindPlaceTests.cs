using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Places;

/// <summary>Places found by postcode, chosen from a list, or left open; nobody types latitude and longitude.</summary>
public sealed class FindPlaceTests(TestPostgres postgres)
{
    // Made up in the form of OS Code-Point Open, at the place that the examples of the invented town have (52.4 N 1.2 W).
    private const string Postcodes = """
        "LK1 2AB",10,454500,278000,"E92000001","","","","",""
        "LK1 2AD",60,454900,278400,"E92000001","","","","",""
        """;

    [Fact]
    public async Task A_label_and_a_postcode_will_do_and_a_rough_one_says_so()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync();

        var exact = await MadeAsync(office, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Home", postcode = "lk12ab" });
        var roughly = await MadeAsync(office, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Work", postcode = "LK1 2AD" });

        Assert.Equal(("LK1 2AB", "exact", "roughly"), (Text(exact, "postcode"), Text(exact, "certainty"), Text(roughly, "certainty")));
        Assert.InRange(exact.GetProperty("latitude").GetDouble(), 52.39, 52.41);
        Assert.Equal(2, (await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}/places")).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    [Theory]
    [InlineData("LK9 9ZZ", "LK9 9ZZ is not on the list of postcodes")]
    [InlineData("BT7 1NN", "leaves Northern Ireland out")]
    [InlineData("nowhere", "postcode")]
    public async Task A_postcode_that_is_not_on_the_list_says_what_else_will_do(string postcode, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync();

        using var refused = await office.PostAsJsonAsync($"/api/v1/pupils/{pupil.Id}/places", new { label = "Home", postcode });

        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.Contains(sentence, Text(await refused.JsonAsync(), "detail"), StringComparison.OrdinalIgnoreCase);
        Assert.Equal(["postcode"], (await refused.WrongFieldsAsync()).Where(field => field.EndsWith("postcode", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task A_position_far_from_its_postcode_is_told_by_one_code_and_one_that_stood_so_is_left_alone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync(at: TestData.PlaceAt(40) with { Postcode = "LK1 2AB" });
        var places = $"/api/v1/pupils/{pupil.Id}/places";

        using var refused = await office.PostAsJsonAsync(places, new { label = "Home", postcode = "LK1 2AB", latitude = 52.46, longitude = -1.2 });
        var why = await refused.JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(("position_far_from_postcode", "postcode"), (Text(why, "code"), Assert.Single(why.GetProperty("errors").EnumerateObject()).Name));
        Assert.Contains("7 km from LK1 2AB. Put right whichever of the two is wrong, or leave the postcode out", Text(why, "detail"), StringComparison.Ordinal);
        using var school = await office.PostAsJsonAsync("/api/v1/places", new { kind = "station", at = new { label = "Station", postcode = "LK1 2AB", position = "52.46, -1.2" } });
        Assert.Equal("position_far_from_postcode", await school.CodeAsync(HttpStatusCode.BadRequest));
        // With another fault in the same round both are told.
        using var both = await office.PostAsJsonAsync(places, new { label = "", postcode = "LK1 2AB", latitude = 52.46, longitude = -1.2 });
        Assert.Equal(("invalid", 2), (Text(await both.JsonAsync(HttpStatusCode.BadRequest), "code"), (await both.WrongFieldsAsync()).Length));

        await MadeAsync(office, places, new { label = "Home", postcode = "LK1 2AB", latitude = 52.43, longitude = -1.2 });
        // What was found roughly may lie far off itself.
        await MadeAsync(office, places, new { label = "Mill", postcode = "LK1 2AD", latitude = 52.46, longitude = -1.2 });
        await MadeAsync(office, places, new { label = "Farm", latitude = 52.46, longitude = -1.2 });
        // A pupil who is recorded so already can be changed in all else.
        var read = await office.GetAsync($"/api/v1/pupils/{pupil.Id}");
        var same = System.Text.Json.Nodes.JsonNode.Parse(await read.Content.ReadAsStringAsync())!;
        same["phone"] = "01632 960003";
        using var kept = await office.SendAsync(Put, $"/api/v1/pupils/{pupil.Id}", same, ("If-Match", read.Headers.ETag!.Tag));
        Assert.True(kept.StatusCode == HttpStatusCode.OK, await kept.Content.ReadAsStringAsync());
    }

    [Fact]
    public async Task A_pupil_who_moved_says_so_by_the_new_postcode_alone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync(at: TestData.PlaceAt(40) with { Postcode = "LK9 9ZZ" });
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var before = PlaceInput.Of(pupil.PickUp);

        using var answer = await browser.PostFormAsync(
            "/pupils/me", ("Input.Email", pupil.Email), ("Input.Phone", "01632 960002"), ("Input.PickUp.Label", "New home"), ("Input.PickUp.Address", "3 Kiln Road"),
            ("Input.PickUp.Postcode", "LK1 2AB"), ("Input.PickUp.Position", before.Position!), ("Input.PickUp.StillRight", "false"), ("Version", $"{pupil.Version}"));

        Assert.True(answer.StatusCode == HttpStatusCode.Redirect, await answer.TextAsync());
        var kept = await host.WithDbAsync(db => db.Set<Modules.Pupils.Pupil>().Select(p => p.PickUp).SingleAsync());
        Assert.Equal("LK1 2AB", kept.Postcode);
        Assert.NotEqual(pupil.PickUp.At(), kept.At());
    }

    [Fact]
    public async Task A_known_place_is_chosen_by_its_id_and_a_lesson_keeps_it_when_it_is_removed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var (instructor, pupil) = (await host.Data.InstructorAsync(), await host.Data.PupilAsync());
        var home = await MadeAsync(office, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Home", postcode = "LK1 2AB" });
        var station = await MadeAsync(office, "/api/v1/places", new { kind = "station", at = new { label = "Larkfield Station", postcode = "LK1 2AD" } });
        var start = host.Clock.GetCurrentInstant() + NodaTime.Duration.FromDays(3);
        var day = start.InZone(SchoolHost.London).Date;
        var slots = await (await office.GetAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from={day:uuuu-MM-dd}&to={day:uuuu-MM-dd}")).JsonAsync();
        object Wish(int n) => new
        {
            pupilId = pupil.Id,
            instructorId = instructor.Id,
            start = slots.GetProperty("items")[n].GetProperty("start").GetString(),
            minutes = 60,
            pickUp = new { placeId = Text(home, "id") },
            dropOff = new { placeId = Text(station, "id") },
        };

        var lesson = await MadeAsync(office, "/api/v1/lessons", Wish(0));
        Assert.Equal(HttpStatusCode.NoContent, (await office.DeleteAsync($"/api/v1/pupils/{pupil.Id}/places/{Text(home, "id")}")).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await office.DeleteAsync($"/api/v1/places/{Text(station, "id")}")).StatusCode);
        using var late = await office.PostAsJsonAsync("/api/v1/lessons", Wish(0));

        var kept = await (await office.GetAsync($"/api/v1/lessons/{Text(lesson, "id")}")).JsonAsync();
        Assert.Equal(("Home", "Larkfield Station"), (Text(kept.GetProperty("pickUp"), "label"), Text(kept.GetProperty("dropOff"), "label")));
        Assert.Equal(HttpStatusCode.BadRequest, late.StatusCode);
        Assert.Contains("not on the list any more", Text(await late.JsonAsync(), "detail"), StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task A_search_begins_at_a_postcode_or_a_place_of_a_list_as_it_does_at_the_position_of_either()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var (instructor, pupil, other) = (await host.Data.InstructorAsync(), await host.Data.PupilAsync(at: TestData.PlaceAt(30)), await host.Data.PupilAsync());
        var home = await MadeAsync(office, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Home", postcode = "LK1 2AB" });
        var foreign = await MadeAsync(office, $"/api/v1/pupils/{other.Id}/places", new { label = "Home", postcode = "LK1 2AB" });
        var day = (host.Clock.GetCurrentInstant() + NodaTime.Duration.FromDays(3)).InZone(SchoolHost.London).Date;
        var search = $"/api/v1/slots?pupilId={pupil.Id}&instructorId={instructor.Id}&minutes=60&from={day:uuuu-MM-dd}&to={day:uuuu-MM-dd}";
        async Task<string> FoundAsync(string more) => (await (await office.GetAsync(search + more)).JsonAsync()).GetProperty("items").GetRawText();

        var at = string.Create(System.Globalization.CultureInfo.InvariantCulture, $"&pickUpLatitude={home.GetProperty("latitude").GetDouble()}&pickUpLongitude={home.GetProperty("longitude").GetDouble()}");
        var byPosition = await FoundAsync(at);

        Assert.NotEqual(await FoundAsync(""), byPosition);
        Assert.Equal(byPosition, await FoundAsync("&pickUpPostcode=lk12ab"));
        Assert.Equal(byPosition, await FoundAsync($"&pickUpPlaceId={Text(home, "id")}"));

        foreach (var (more, field) in new[]
        {
            ("&pickUpPostcode=LK9%209ZZ", "pickUpPostcode"), ("&dropOffPostcode=nowhere", "dropOffPostcode"), ("&pickUpPlaceId=" + Text(foreign, "id"), "pickUpPlaceId"),
            ("&pickUpPostcode=LK1%202AB" + at, "pickUpPostcode"), ("&dropOffPostcode=LK1%202AB&dropOffPlaceId=" + Text(home, "id"), "dropOffPlaceId"),
        })
        {
            using var refused = await office.GetAsync(search + more);
            Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
            Assert.Equal([field], await refused.WrongFieldsAsync());
        }
    }

    [Fact]
    public async Task A_place_left_open_is_found_by_its_position_although_the_form_still_says_open_and_a_new_one_is_not_both()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var open = Text(await MadeAsync(office, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Aunt", postcode = "LK1", toBeFound = true }), "id");
        var path = $"/pupils/{pupil.Id}/places";

        using var both = await office.PostAsJsonAsync($"/api/v1{path}", new { label = "Work", postcode = "LK1", toBeFound = true, position = "52.41, -1.21" });
        Assert.Equal(["toBeFound"], await both.WrongFieldsAsync());

        using var found = await browser.PostFormAsync(
            path, path, ("Change", open!), ("Version", "1"), ("Input.Label", "Aunt"), ("Input.Postcode", "LK1 2AB"), ("Input.Position", "52.41, -1.21"), ("Input.ToBeFound", "true"));
        Assert.Equal(HttpStatusCode.Redirect, found.StatusCode);
        var kept = (await (await office.GetAsync($"/api/v1{path}/{open}")).JsonAsync());
        Assert.Equal(("exact", 52.41), (Text(kept, "certainty"), kept.GetProperty("latitude").GetDouble()));
    }

    [Fact]
    public async Task A_known_place_is_one_press_on_the_booking_pages_and_holds_for_one_lesson_and_for_weekly_ones()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        var home = Text(await MadeAsync(office, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Home", postcode = "LK1 2AB" }), "id")!;
        var station = Text(await MadeAsync(office, "/api/v1/places", new { kind = "station", at = new { label = "Larkfield Station", postcode = "LK1 2AD" } }), "id")!;
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var chosen = $"Places.PickUpAt={home}&Places.DropOffAt={station}";

        foreach (var address in new[] { "/diary/book?minutes=60", "/diary/weekly" })
        {
            var form = await browser.GetStringAsync(address);
            Assert.All([home, station], id => Assert.Contains($"name=\"Places.PickUpAt\" type=\"radio\" value=\"{id}\"", form, StringComparison.Ordinal));
        }

        var times = await browser.GetStringAsync($"/diary/book?minutes=60&{chosen}");
        Assert.Contains($"&amp;{chosen.Replace("&", "&amp;", StringComparison.Ordinal)}", times, StringComparison.Ordinal);
        var weekly = await (await browser.GetAsync($"/diary/weekly?with={instructor.Id}&first=2026-03-05&time=10:00&weeks=2&minutes=60&{chosen}")).TextAsync();
        Assert.Contains("from Home to Larkfield Station", weekly, StringComparison.Ordinal);
        var check = $"/diary/book/check?start=2026-03-05T10:00:00Z&minutes=60&with={instructor.Id}&{chosen}";
        using var booked = await browser.PostFormAsync(
            check, "/diary/book/check", ("start", "2026-03-05T10:00:00Z"), ("minutes", "60"), ("with", $"{instructor.Id}"), ("Places.PickUpAt", home), ("Places.DropOffAt", station));
        Assert.StartsWith("/diary/lessons/", booked.Headers.Location?.OriginalString, StringComparison.Ordinal);
        var lesson = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync());
        Assert.Equal(("Home", "Larkfield Station"), (lesson.PickUp.Label, lesson.DropOff.Label));
    }

    [Fact]
    public async Task Another_pupils_place_cannot_be_chosen_nor_seen()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var (one, other) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Idris Bell"));
        var home = await MadeAsync(office, $"/api/v1/pupils/{one.Id}/places", new { label = "Home", postcode = "LK1 2AB" });
        using var pupil = await host.ApiAsAsync(await host.Data.PersonAsync(other));

        Assert.Equal(HttpStatusCode.NotFound, (await pupil.GetAsync($"/api/v1/pupils/{one.Id}/places")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await pupil.DeleteAsync($"/api/v1/pupils/{one.Id}/places/{Text(home, "id")}")).StatusCode);
        using var copied = await pupil.PostAsJsonAsync($"/api/v1/pupils/{other.Id}/places", new { placeId = Text(home, "id") });
        Assert.Equal(HttpStatusCode.BadRequest, copied.StatusCode);
    }

    [Fact]
    public async Task A_district_lies_in_one_area_and_a_place_tells_which()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync();
        var north = await MadeAsync(office, "/api/v1/areas", new { name = "North of the river", districts = new[] { "lk1", "LK2" } });

        using var twice = await office.PostAsJsonAsync("/api/v1/areas", new { name = "South", districts = new[] { "LK2", "LK2 1AA", "nonsense" } });
        var home = await MadeAsync(office, $"/api/v1/pupils/{pupil.Id}/places", new { label = "Home", postcode = "LK1 2AB" });
        var found = await (await office.GetAsync("/api/v1/postcodes/LK12AB")).JsonAsync();

        Assert.Equal(["LK1", "LK2"], north.GetProperty("districts").EnumerateArray().Select(district => district.GetString()));
        var why = Text(await twice.JsonAsync(), "detail");
        Assert.Contains("LK2 lies in the area North of the river", why, StringComparison.Ordinal);
        Assert.Contains("“LK2 1AA”", why, StringComparison.Ordinal);
        Assert.Contains("“nonsense”", why, StringComparison.Ordinal);
        Assert.Equal((Text(north, "id"), Text(north, "id")), (Text(home, "areaId"), Text(found, "areaId")));
    }

    [Fact]
    public async Task Two_areas_have_two_names_whether_added_or_changed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        await MadeAsync(office, "/api/v1/areas", new { name = "North of the river", districts = new[] { "LK1" } });
        var south = await MadeAsync(office, "/api/v1/areas", new { name = "South", districts = new[] { "LK2" } });

        using var added = await office.PostAsJsonAsync("/api/v1/areas", new { name = "North of the river", districts = new[] { "LK3" } });
        using var changed = await office.SendAsync(
            Put, $"/api/v1/areas/{Text(south, "id")}", new { name = "North of the river", districts = new[] { "LK2" } }, ("If-Match", "\"1\""));
        using var same = await office.SendAsync(Put, $"/api/v1/areas/{Text(south, "id")}", new { name = "South", districts = new[] { "LK2", "LK3" } }, ("If-Match", "\"1\""));

        Assert.Equal(["name"], await added.WrongFieldsAsync());
        Assert.Equal(["name"], await changed.WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.OK, same.StatusCode);
        Assert.Equal(2, await host.WithDbAsync(db => db.Set<Modules.Places.Area>().CountAsync()));
    }

    [Fact]
    public async Task What_is_wrong_with_a_pupils_place_is_told_by_the_names_that_were_sent()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync();
        var places = $"/api/v1/pupils/{pupil.Id}/places";
        var home = await MadeAsync(office, places, new { label = "Home", postcode = "LK1 2AB" });

        using var added = await office.PostAsJsonAsync(places, new { label = "", postcode = "nonsense", latitude = 91, longitude = 0 });
        using var changed = await office.SendAsync(Put, $"{places}/{Text(home, "id")}", new { postcode = "nonsense" }, ("If-Match", "\"1\""));

        Assert.Equal(["label", "latitude", "postcode"], await added.WrongFieldsAsync());
        Assert.Equal(["label", "position", "postcode"], await changed.WrongFieldsAsync());
    }

    [Fact]
    public async Task A_place_left_open_is_booked_from_the_middle_of_its_district_stands_under_attention_and_tells_no_drive()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var instructor = await host.Data.InstructorAsync(at: TestData.PlaceAt(40));
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        var day = (host.Clock.GetCurrentInstant() + NodaTime.Duration.FromDays(3)).InZone(SchoolHost.London).Date;
        var slots = await (await office.GetAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from={day:uuuu-MM-dd}&to={day:uuuu-MM-dd}")).JsonAsync();
        var start = slots.GetProperty("items")[0].GetProperty("start").GetString();

        var open = new { label = "Aunt", postcode = "LK1", toBeFound = true };
        var lesson = await MadeAsync(office, "/api/v1/lessons", new { pupilId = pupil.Id, instructorId = instructor.Id, start, minutes = 60, pickUp = open });
        await host.WithDbAsync(async db =>
        {
            var row = await db.Set<Modules.Pupils.Pupil>().SingleAsync();
            row.PickUp = row.PickUp with { Postcode = "LK1 2AB", Certainty = PlaceCertainty.ToBeFound };
            return await db.SaveChangesAsync();
        });
        var again = await (await office.GetAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from={day:uuuu-MM-dd}&to={day:uuuu-MM-dd}")).JsonAsync();
        Assert.All(again.GetProperty("items").EnumerateArray(), offer => Assert.Equal((JsonValueKind.Null, ""), (offer.GetProperty("extraDrivingMinutes").ValueKind, Text(offer, "reason"))));
        var told = (await (await office.GetAsync($"/api/v1/instructors/{instructor.Id}/day/{day:uuuu-MM-dd}")).JsonAsync())!;
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await browser.GetAsync($"/diary/day?instructorId={instructor.Id}&date={day:uuuu-MM-dd}")).TextAsync();

        Assert.Equal(("toBeFound", JsonValueKind.Null), (Text(lesson.GetProperty("pickUp"), "certainty"), lesson.GetProperty("pickUp").GetProperty("latitude").ValueKind));
        var stop = told.GetProperty("stops")[0];
        Assert.Equal((JsonValueKind.Null, JsonValueKind.Null, JsonValueKind.Null), (stop.GetProperty("leg").ValueKind, stop.GetProperty("arrives").ValueKind, told.GetProperty("latestDeparture").ValueKind));
        Assert.Equal((JsonValueKind.Null, 0), (told.GetProperty("legHome").ValueKind, told.GetProperty("drivingMinutes").GetInt32()));
        Assert.Contains("still to be found, so no drive is told", page, StringComparison.Ordinal);
        Assert.DoesNotContain("geo:", page, StringComparison.Ordinal);
        Assert.Contains("is still to be found. Lessons are reckoned from the middle of LK1", await (await browser.GetAsync("/diary/attention")).TextAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("LK7")]
    [InlineData("BT7 1NN")]
    [InlineData("")]
    public async Task A_place_whose_district_nobody_knows_is_not_left_open(string postcode)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await OfficeAsync(host);
        var pupil = await host.Data.PupilAsync();

        using var refused = await office.PostAsJsonAsync($"/api/v1/pupils/{pupil.Id}/places", new { label = "Home", postcode, toBeFound = true });

        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.Equal(["toBeFound"], await refused.WrongFieldsAsync());
    }

    private static async Task<HttpClient> OfficeAsync(SchoolHost host)
    {
        var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var content = new ByteArrayContent(Encoding.UTF8.GetBytes(Postcodes)) { Headers = { ContentType = new MediaTypeHeaderValue("application/octet-stream") } };
        (await office.PostAsync("/api/v1/postcodes", content)).EnsureSuccessStatusCode();
        return office;
    }

    private static async Task<JsonElement> MadeAsync(HttpClient office, string url, object body)
    {
        using var made = await office.SendJsonAsync(Post, url, body);
        Assert.True(made.StatusCode == HttpStatusCode.Created, await made.Content.ReadAsStringAsync());
        return await made.JsonAsync();
    }

    private static string? Text(JsonElement found, string member) => found.GetProperty(member).GetString();
}
