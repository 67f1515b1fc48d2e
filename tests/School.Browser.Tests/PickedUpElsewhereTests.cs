using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>
/// A pupil of whom the name, a phone and two postcodes are known and nothing else, on a phone: picked up at school, dropped at home, in four taps at most. Every press of a button or a
/// link is a tap; what is typed into a field is none. Who books for themselves is asked for licence and date of birth first.
/// </summary>
public sealed class PickedUpElsewhereTests(TestPostgres postgres, Chromium chromium)
{
    // Made up in the form of OS Code-Point Open, beside the places of the invented town.
    private const string Postcodes = """
        "LK1 2AB",10,454500,278000,"E92000001","","","","",""
        "LK1 2AD",10,454900,278400,"E92000001","","","","",""
        """;

    [Theory]
    [InlineData("instructor", true, 3)]
    [InlineData("instructor", false, 3)]
    // Of a school where both gearboxes are taught, and nobody asked the pupil: one tap more says which.
    [InlineData("instructor of both", true, 4)]
    [InlineData("instructor of both", false, 4)]
    // Of a school that is so large that the pupil must be looked for.
    [InlineData("office", true, 4)]
    [InlineData("office", false, 4)]
    [InlineData("pupil", true, 3)]
    [InlineData("pupil", false, 3)]
    public async Task A_lesson_from_school_and_home_after_takes_at_most_four_taps(string who, bool scripts, int mostTaps)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var (both, known) = (who == "instructor of both", who == "pupil");
        var instructor = await host.Data.InstructorAsync();
        await host.WithDbAsync(db => db.Set<Web.Modules.People.Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Teaches, both ? [Gearbox.Manual, Gearbox.Automatic] : [Gearbox.Manual])));
        using var office = await Api.OfListeningAsync(host, await host.Data.OfficeAsync());
        using var file = new ByteArrayContent(Encoding.UTF8.GetBytes(Postcodes)) { Headers = { ContentType = new MediaTypeHeaderValue("application/octet-stream") } };
        (await office.PostAsync("/api/v1/postcodes", file)).EnsureSuccessStatusCode();
        var pupil = await MadeAsync(office, "/api/v1/pupils", new
        {
            name = "Maya Linden",
            email = known ? "maya@larkfield.example" : "",
            phone = "01632 960002",
            birthDate = known ? "2007-05-04" : null,
            gearbox = known ? "manual" : null,
            usualInstructorId = who == "office" ? null : (Guid?)instructor.Id,
            licence = known ? new { kind = "provisional", validFrom = "2024-05-04" } : null,
            pickUp = new { label = "Home", postcode = "LK1 2AB" },
        });
        await MadeAsync(office, $"/api/v1/pupils/{pupil}/places", new { label = "School", postcode = "LK1 2AD" });
        var row = await host.WithDbAsync(db => db.Set<Web.Modules.Pupils.Pupil>().AsNoTracking().SingleAsync());
        if (who == "office")
        {
            for (var other = 0; other < Web.Modules.Pupils.Contracts.PupilsToBook.Most; other++)
            {
                await host.Data.PupilAsync($"Other Pupil{other}", instructor: instructor.Id);
            }
        }

        var person = who switch
        {
            "instructor" or "instructor of both" => await host.Data.PersonAsync(instructor),
            "pupil" => await host.Data.PersonAsync(row),
            _ => await host.Data.OfficeAsync("Hazel Wray"),
        };
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = scripts });
        await walk.SignInAsync(person);
        await walk.Page.GotoAsync(who is "office" ? "/diary/board" : "/");

        var taps = 0;
        await TapAsync(Link("Book a lesson"));
        await ExpectFitsAsync();
        if (who == "office")
        {
            Assert.Equal(0, await Link("From School, then Home").CountAsync());
            await walk.Page.Locator("main").GetByLabel("Pupil").FillAsync("maya");
            await TapAsync(walk.Page.GetByRole(AriaRole.Button, new() { Name = "Find pupil" }));
        }

        await TapAsync(Link("From School, then Home"));
        await ExpectFitsAsync();
        if (both)
        {
            await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("In which kind of car?");
            await TapAsync(Link("Manual"));
            await ExpectFitsAsync();
        }

        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("School, LK1 2AD");
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("Home, LK1 2AB");
        await TapAsync(walk.Page.Locator("main form button.main", new() { HasText = "Book" }));

        await Assertions.Expect(walk.Page.GetByRole(AriaRole.Status)).ToContainTextAsync("Lesson booked");
        Assert.True(taps <= mostTaps, $"{taps} taps");
        if (!known)
        {
            await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("Before driving: see the driving licence, ask the date of birth.");
            await ExpectFitsAsync();
            Assert.Equal(Gearbox.Manual, await host.WithDbAsync(db => db.Set<Web.Modules.Pupils.Pupil>().Where(p => p.Name == "Maya Linden").Select(p => p.Gearbox).SingleAsync()));
        }

        var lesson = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync());
        Assert.Equal(("LK1 2AD", "LK1 2AB"), (lesson.PickUp.Postcode, lesson.DropOff.Postcode));

        ILocator Link(string words) => walk.Page.Locator("main").GetByRole(AriaRole.Link, new() { Name = words });

        async Task TapAsync(ILocator at)
        {
            taps++;
            await at.First.ClickAsync();
        }

        async Task ExpectFitsAsync()
        {
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }
    }

    private static async Task<string> MadeAsync(HttpClient office, string url, object body)
    {
        using var made = await office.PostAsJsonAsync(url, body);
        var text = await made.Content.ReadAsStringAsync();
        Assert.True(made.IsSuccessStatusCode, text);
        return JsonDocument.Parse(text).RootElement.GetProperty("id").GetString()!;
    }
}
