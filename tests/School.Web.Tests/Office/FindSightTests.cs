using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.Places;
using School.Web.Modules.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Office;

/// <summary>Who finds what: nobody more than they may see. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class FindSightTests(TestPostgres postgres)
{
    private const string Number = "01632 960002";

    /// <summary>What there is to find of Tamsin Oakley's school; each word of it is asked for as each person.</summary>
    private static readonly string[] Words = ["oakley", "lesson", "LK 4471-09", "LK02FLD", "marigold", "weir", "holidays", Number];

    [Theory]
    [InlineData("the pupil", "lesson page test")]
    [InlineData("another pupil", "page")]
    [InlineData("beside, lessons", "lesson pupil")]
    [InlineData("beside, nothing", "pupil")]
    [InlineData("beside another", "")]
    [InlineData("the instructor", "car contact instructor lesson pupil test")]
    [InlineData("another instructor", "car pupil")]
    [InlineData("Diary", "car contact instructor lesson message pupil test")]
    [InlineData("People", "contact instructor message pupil")]
    [InlineData("Settings", "page place")]
    [InlineData("Money", "")]
    [InlineData("Confidential", "")]
    [InlineData("Diary People Money Settings Confidential", "car contact instructor lesson message page place pupil test")]
    public async Task Each_hat_finds_its_own_kinds_and_every_page_it_is_led_to_opens(string who, string kinds)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await FillAsync(school);
        var person = await PersonAsync(school, who);
        using var api = await school.Host.ApiAsAsync(person);
        using var pages = await school.Host.PagesAsAsync(person);
        var found = new List<JsonElement>();
        foreach (var word in Words)
        {
            found.AddRange(await FindTests.FoundAsync(api, word));
        }

        Assert.Equal(kinds, string.Join(' ', found.Select(one => one.Word("kind")).Distinct().Order(StringComparer.Ordinal)));
        foreach (var page in found.Select(one => one.Word("page")!).Distinct())
        {
            using var answer = await pages.GetAsync(page);
            var byName = found.Any(one => one.Word("page") == page && one.Word("detail")!.Contains("name only", StringComparison.Ordinal));
            Assert.True(
                byName ? answer.Headers.Location?.ToString().StartsWith($"/pupils/{school.PupilId}/access", StringComparison.Ordinal) == true : answer.StatusCode == HttpStatusCode.OK,
                $"{page}: {(int)answer.StatusCode} {answer.Headers.Location}");
        }

        // One kind asked for alone gives no other.
        foreach (var kind in Enum.GetNames<Web.Platform.Find.FoundKind>().Select(JsonNamingPolicy.CamelCase.ConvertName))
        {
            Assert.All(await FindTests.FoundAsync(api, "oakley", kind), one => Assert.Equal(kind, one.Word("kind")));
        }
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_name_that_needs_a_reason_is_found_as_a_name_and_by_nothing_else(bool office)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await FillAsync(school);
        await school.Host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(set => set.SetProperty(p => p.PupilsBelongToInstructor, office)));
        var left = await school.Host.Data.PupilAsync("Wilf Oakley", instructor: school.InstructorId);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == left.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, new LocalDate(2026, 2, 1))));
        using var api = await school.Host.ApiAsAsync(await PersonAsync(school, office ? "People" : "another instructor"));

        var found = await FindTests.FoundAsync(api, "oakley", "pupil");
        var detail = office ? "with Marigold Ashby; name only" : "name only";
        Assert.Equal([("Tamsin Oakley", detail), ("Wilf Oakley", detail)], found.Select(one => (one.Word("label")!, one.Word("detail")!)));
        foreach (var word in new[] { Number, "960002", "pupil2@larkfield.example", "@larkfield.example", "Mill Lane", "01632 960055", "rowan@" })
        {
            Assert.Equal([], (await FindTests.FoundAsync(api, word)).Where(one => one.Word("kind") is "pupil" or "contact" or "lesson" or "test"));
        }

        Assert.Equal(office ? 1 : 0, (await FindTests.FoundAsync(api, "rowan", "contact")).Count);
        (await api.SendJsonAsync(Post, $"/api/v1/pupils/{school.PupilId}/access", new { reason = "Their mother called me about Thursday." })).Dispose();
        var opened = Assert.Single(await FindTests.FoundAsync(api, Number, "pupil"));
        Assert.Equal(("Tamsin Oakley", "with Marigold Ashby, Mill Lane"), (opened.Word("label"), opened.Word("detail")));
        Assert.Equal("Rowan Oakley", Assert.Single(await FindTests.FoundAsync(api, "01632 960055", "contact")).Word("label"));
    }

    [Fact]
    public async Task Nothing_that_is_guarded_and_nothing_of_notes_and_addresses_is_looked_through()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await FillAsync(school);
        (await school.Office.SendAsync(Put, $"/api/v1/pupils/{school.PupilId}/guarded", new { healthNotes = "Asthma inhaler", driverNumber = "OAKLE005047T99AB" }, ("If-Match", "*"))).Dispose();
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set => set.SetProperty(p => p.Notes, "Nervous at weirs").SetProperty(p => p.Need, "Roundabouts")));
        foreach (var word in new[] { "asthma", "OAKLE005047T99AB", "nervous", "roundabouts", "12 Mill Lane" })
        {
            Assert.Equal([], await FindTests.FoundAsync(school.Office, word));
        }
    }

    [Fact]
    public async Task Somebody_beside_a_pupil_finds_their_lessons_until_that_is_taken_back()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await FillAsync(school);
        using var api = await school.Host.ApiAsAsync(await PersonAsync(school, "beside, lessons"));
        var lesson = Assert.Single(await FindTests.FoundAsync(api, "tamsin", "lesson"));
        Assert.Equal(("Tamsin Oakley, with Marigold Ashby, booked", $"/diary/beside/{school.PupilId}"), (lesson.Word("detail"), lesson.Word("page")));
        await school.Host.WithDbAsync(async db =>
        {
            foreach (var row in await db.Set<BesidePupil>().ToListAsync())
            {
                row.Sees = [];
            }

            return await db.SaveChangesAsync();
        });
        Assert.Equal([], await FindTests.FoundAsync(api, "tamsin", "lesson"));
    }

    private static async Task FillAsync(SmallSchool school)
    {
        var host = school.Host;
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10));
        await host.AddAsync(
            TestDay.Enter(school.PupilId, new(
                London(2026, 4, 1, 10), Duration.FromMinutes(50), 60, 15, TestData.PlaceAt(label: "Larkfield test centre"), Core.Diary.Time.Nation.EnglandAndWales, TestData.PlaceAt(), false,
                "LK 4471-09", Core.Cars.Gearbox.Manual, school.InstructorId, null, true), host.Clock.GetCurrentInstant()),
            new SchoolPlace { Kind = PlaceKind.Other, At = TestData.PlaceAt(label: "Weir car park") });
        var contact = await host.Data.ContactAsync("Rowan Oakley", (school.PupilId, []));
        await host.WithDbAsync(db => db.Set<Contact>().Where(c => c.Id == contact.Id).ExecuteUpdateAsync(set => set.SetProperty(c => c.Phone, "+441632960055").SetProperty(c => c.Email, "rowan@larkfield.example")));
    }

    private static async Task<Person> PersonAsync(SmallSchool school, string who)
    {
        var data = school.Host.Data;
        return who switch
        {
            "the pupil" => await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId == school.PupilId)),
            "another pupil" => await data.PersonAsync(await data.PupilAsync("Bryony Vale")),
            "beside, lessons" => await data.BesideAsync("Carys Bell", (school.PupilId, [SeenOfPupil.Lessons])),
            "beside, nothing" => await data.BesideAsync("Carys Bell", (school.PupilId, [])),
            "beside another" => await data.BesideAsync("Carys Bell", ((await data.PupilAsync("Bryony Vale")).Id, Enum.GetValues<SeenOfPupil>())),
            "the instructor" => await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.InstructorId == school.InstructorId)),
            "another instructor" => await data.PersonAsync(await data.InstructorAsync("Piers Anstey")),
            _ => await data.WearerAsync("Ottilie Crane", "ottilie@larkfield.example", who.Split(' ').Select(Enum.Parse<OfficePart>).Together()),
        };
    }
}
