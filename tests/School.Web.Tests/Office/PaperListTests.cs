using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Office;

/// <summary>All papers of the school on one list, whosever they are. It is Monday 2 March 2026.</summary>
public sealed class PaperListTests(TestPostgres postgres)
{
    private const string All = "/api/v1/papers";

    [Fact]
    public async Task Papers_of_pupils_instructors_and_cars_stand_on_one_list_with_who_saw_them_and_what_ends_first_is_first()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var rosalind = await host.Data.OfficeAsync();
        using var office = await host.ApiAsAsync(rosalind);
        var (pupil, instructor, car) = await PeopleAsync(host, office);

        var papers = await ListAsync(office, All);

        Assert.Equal(
            [
                "pupil drivingRecord 2025-08-01 2026-01-31 lookAgain nothing", "pupil licence 2024-05-04 2026-03-20 endsSoon lesson", "car tax - 2026-04-01 endsSoon car",
                "pupil theory 2025-06-01 2027-05-31 valid test", "car mot - 2028-03-01 valid car", "car insurance - 2029-03-01 valid car",
                "car service - 2029-03-01 valid car", "instructor registration - 2029-12-31 valid teaching", "pupil eyesight 2026-03-02 - valid lesson",
            ],
            papers.Select(Line));
        Assert.All(papers, paper => Assert.Contains(paper.GetProperty("holderId").GetGuid(), new[] { pupil, instructor, car }));
        Assert.All(papers, paper => Assert.True(Text(paper, "source")!.Length > 3 && Text(paper, "sourceDate") is { Length: 10 }));
        foreach (var (kind, on) in new[] { ("licence", "2026-03-02"), ("tax", "2026-03-02"), ("drivingRecord", "2025-08-01"), ("eyesight", "2026-03-02") })
        {
            var paper = papers.Single(one => Text(one, "kind") == kind);
            Assert.Equal((on, rosalind.Id), (Text(paper, "seenOn"), paper.GetProperty("seenBy").GetGuid()));
        }

        // What nobody entered here since is not said to have been seen.
        Assert.Null(Text(papers.Single(one => Text(one, "kind") == "insurance"), "seenOn"));
    }

    [Fact]
    public async Task A_kind_named_in_the_address_is_the_one_chosen_in_whatever_case()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var word in new[] { "theory", "Theory", "THEORY" })
        {
            var page = await (await pages.GetAsync($"/papers?kind={word}")).TextAsync();
            Assert.Contains("<option selected=\"selected\" value=\"Theory\"", page, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task The_list_is_narrowed_by_whose_by_kind_and_by_days_comes_in_pages_and_is_the_offices()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await PeopleAsync(host, office);
        Assert.Equal(["tax", "mot", "insurance", "service"], (await ListAsync(office, $"{All}?holder=car")).Select(paper => Text(paper, "kind")!));
        Assert.Equal(["theory"], (await ListAsync(office, $"{All}?kind=theory")).Select(paper => Text(paper, "kind")!));
        Assert.Equal(["drivingRecord"], (await ListAsync(office, $"{All}?within=0")).Select(paper => Text(paper, "kind")!));
        Assert.Equal(["drivingRecord", "licence"], (await ListAsync(office, $"{All}?within=18")).Select(paper => Text(paper, "kind")!));
        Assert.Equal(["drivingRecord"], (await ListAsync(office, $"{All}?within=17")).Select(paper => Text(paper, "kind")!));
        var (seen, next) = (new List<string>(), (string?)"");
        while (next is not null)
        {
            var page = await (await office.GetAsync($"{All}?limit=4&cursor={next}")).JsonAsync();
            seen.AddRange(page.GetProperty("items").EnumerateArray().Select(Line));
            next = page.GetProperty("next").GetString();
        }

        Assert.Equal((await ListAsync(office, All)).Select(Line), seen);
        Assert.Equal(["within"], await (await office.GetAsync($"{All}?within=-1")).WrongFieldsAsync());
        Assert.Equal(["within"], await (await office.GetAsync($"{All}?within=3661")).WrongFieldsAsync());
        var answer = await office.GetAsync($"{All}?within=1&within=2");
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        var twice = await answer.JsonAsync();
        Assert.Equal("This is given twice.", Assert.Single(Assert.Single(twice.GetProperty("errors").EnumerateObject()).Value.EnumerateArray()).GetString());
        Assert.Equal(["holder", "kind"], await (await office.GetAsync($"{All}?holder=dog&kind=passport")).WrongFieldsAsync());
        Assert.Equal(["limit"], await (await office.GetAsync($"{All}?limit=1000")).WrongFieldsAsync());
        using var teacher = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync("Alder Reeve")));
        Assert.Equal(HttpStatusCode.Forbidden, (await teacher.GetAsync(All)).StatusCode);
    }

    [Fact]
    public async Task Every_line_leads_to_the_field_that_cures_it_and_what_is_to_heed_is_told_from_the_same_list()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var rosalind = await host.Data.OfficeAsync();
        using var office = await host.ApiAsAsync(rosalind);
        using var pages = await host.PagesAsAsync(rosalind);
        await PeopleAsync(host, office);
        var shown = await (await pages.GetAsync("/papers")).TextAsync();
        foreach (var paper in await ListAsync(office, All))
        {
            var cure = Text(paper, "page")!;
            Assert.Contains($"href=\"{cure}\"", shown, StringComparison.Ordinal);
            var form = await (await pages.GetAsync(cure.Split('#')[0])).TextAsync();
            Assert.Contains(cure.Contains('#', StringComparison.Ordinal) ? $"id=\"{cure.Split('#')[1]}\"" : "<form method=\"post\"", form, StringComparison.Ordinal);
        }

        Assert.Contains("▲ ends soon", shown, StringComparison.Ordinal);
        Assert.Contains("without it no lesson", shown, StringComparison.Ordinal);
        Assert.Contains("Monday 2 March 2026, Rosalind Pike", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Vehicle tax", (await (await pages.GetAsync("/papers?whose=Pupil")).TextAsync()).Split("<table")[1], StringComparison.Ordinal);
        Assert.Contains("from 0 to 3660", await (await pages.GetAsync("/papers?within=-4")).TextAsync(), StringComparison.Ordinal);
        var heeded = (await (await office.GetAsync("/api/v1/attention")).JsonAsync()).GetProperty("items").EnumerateArray().Select(item => Text(item, "kind")).ToList();
        Assert.Equal(["licence_check", "car_paper", "licence"], heeded);
    }

    [Fact]
    public async Task Who_passed_waits_for_no_theory_certificate_and_who_left_has_no_papers_here()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (pupil, _, car) = await PeopleAsync(host, office);
        var passed = new
        {
            pupilId = pupil,
            start = "2026-02-10T09:00:00Z",
            centre = new { label = "Larkfield test centre", latitude = 52.42, longitude = -1.19 },
            nation = "england-and-wales",
            result = new { passed = true, driving = 3, serious = 0, dangerous = 0 },
        };
        Assert.Equal(HttpStatusCode.Created, (await office.PostAsJsonAsync("/api/v1/test-days", passed)).StatusCode);
        Assert.Empty(await ListAsync(office, $"{All}?kind=theory"));
        Assert.Equal(3, (await ListAsync(office, $"{All}?holder=pupil")).Count);
        Assert.Equal(HttpStatusCode.OK, (await office.PostAsync($"/api/v1/pupils/{pupil}/retire", null)).StatusCode);
        Assert.Empty(await ListAsync(office, $"{All}?holder=pupil"));
        Assert.Equal(HttpStatusCode.OK, (await office.PostAsync($"/api/v1/cars/{car}/retire", null)).StatusCode);
        Assert.Empty(await ListAsync(office, $"{All}?holder=car"));
    }

    [Fact]
    public async Task A_date_that_stays_keeps_who_saw_it_and_one_that_changes_or_goes_does_not()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (first, second) = (await host.Data.OfficeAsync(), await host.Data.OfficeAsync("Juniper Holt"));
        using var one = await host.ApiAsAsync(first);
        using var other = await host.ApiAsAsync(second);
        object Car(string tax, string? insurance) => new { label = "red hatch", plate = "LK24 ABC", gearbox = "manual", dualControls = true, firstRegistered = "2025-03-01", taxExpires = tax, insuranceExpires = insurance };
        var made = await one.PostAsJsonAsync("/api/v1/cars", Car("2026-12-31", "2026-12-31"));
        host.Clock.Advance(Duration.FromDays(3));
        await other.SendAsync(HttpMethod.Put, made.Headers.Location!.ToString(), Car("2027-12-31", "2026-12-31"), ("If-Match", "*"));
        var papers = await ListAsync(one, $"{All}?holder=car");
        Assert.Equal(("2026-03-05", second.Id), (Text(papers.Single(p => Text(p, "kind") == "tax"), "seenOn"), papers.Single(p => Text(p, "kind") == "tax").GetProperty("seenBy").GetGuid()));
        Assert.Equal(("2026-03-02", first.Id), (Text(papers.Single(p => Text(p, "kind") == "insurance"), "seenOn"), papers.Single(p => Text(p, "kind") == "insurance").GetProperty("seenBy").GetGuid()));
        await other.SendAsync(HttpMethod.Put, made.Headers.Location!.ToString(), Car("2027-12-31", null), ("If-Match", "*"));
        Assert.Equal(["mot", "tax"], (await ListAsync(one, $"{All}?holder=car")).Select(paper => Text(paper, "kind")!).Order(StringComparer.Ordinal));
        Assert.DoesNotContain("seen", await one.GetStringAsync("/api/v1/audit?limit=200"), StringComparison.OrdinalIgnoreCase);
    }

    private static async Task<(Guid Pupil, Guid Instructor, Guid Car)> PeopleAsync(SchoolHost host, HttpClient office)
    {
        var instructor = await host.Data.InstructorAsync();
        var car = await host.WithDbAsync(db => db.Set<Modules.Cars.Car>().AsNoTracking().SingleAsync());
        var pupil = await host.Data.PupilAsync();
        Assert.Equal(HttpStatusCode.OK, (await office.SendAsync(
            HttpMethod.Put, $"/api/v1/cars/{car.Id}",
            new { label = car.Label, plate = car.Plate, gearbox = "manual", dualControls = true, firstRegistered = "2024-03-01", motExpires = "2028-03-01", taxExpires = "2026-04-01", insuranceExpires = "2029-03-01", serviceDue = "2029-03-01" },
            ("If-Match", "*"))).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await office.SendAsync(
            HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}/papers",
            new { theoryPassedOn = "2025-06-01", licenceCheckedOn = "2025-08-01", licence = new { kind = "provisional", validFrom = "2024-05-04", validUntil = "2026-03-20" } }, ("If-Match", "*"))).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await office.PostAsJsonAsync($"/api/v1/pupils/{pupil.Id}/eyesight-check", new { on = "2026-03-02" })).StatusCode);
        return (pupil.Id, instructor.Id, car.Id);
    }

    private static async Task<List<JsonElement>> ListAsync(HttpClient api, string at) => [.. (await (await api.GetAsync(at)).JsonAsync()).GetProperty("items").EnumerateArray()];

    private static string Line(JsonElement paper) =>
        $"{Text(paper, "holder")} {Text(paper, "kind")} {Text(paper, "from") ?? "-"} {Text(paper, "until") ?? "-"} {Text(paper, "state")} {Text(paper, "stops")}";

    private static string? Text(JsonElement paper, string member) => paper.GetProperty(member).GetString();
}
