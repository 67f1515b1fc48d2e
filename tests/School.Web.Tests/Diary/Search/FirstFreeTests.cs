using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Search;

/// <summary>The first free time stands on the page of times with all that there is to know of it, and one press books it.</summary>
public sealed partial class FirstFreeTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_first_free_time_is_booked_with_one_press()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (_, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var page = await (await browser.GetAsync("/diary/book")).TextAsync();
        var card = Card(page);
        Assert.Contains("after that, cancelling is charged", card, StringComparison.Ordinal);
        Assert.Contains("12 Mill Lane, Larkfield", card, StringComparison.Ordinal);
        var booked = await browser.PostFormAsync("/diary/book", "/diary/book/check", Hidden(card));
        Assert.Equal(HttpStatusCode.Redirect, booked.StatusCode);
        var lesson = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync());
        Assert.Equal((Hidden(card).Single(f => f.Name == "start").Value, 60, pupil.Id), (StartText.Of(lesson.StartsAt), lesson.Minutes, lesson.PupilId));

        // Pressed again it is the same lesson; and it is not offered to somebody else.
        Assert.Equal(booked.Headers.Location, (await browser.PostFormAsync("/diary/book", "/diary/book/check", Hidden(card))).Headers.Location);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
        Assert.NotEqual(Hidden(card)[1], Hidden(Card(await (await browser.GetAsync("/diary/book")).TextAsync()))[1]);
    }

    [Fact]
    public async Task What_was_taken_meanwhile_is_not_booked_and_other_times_are_told()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var fields = Hidden(Card(await (await browser.GetAsync("/diary/book")).TextAsync()));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await office.BookedAsync((await host.Data.PupilAsync("Idris Bell")).Id, instructor.Id, StartText.Read(fields.Single(f => f.Name == "start").Value)!.Value);
        var page = await (await browser.PostFormAsync("/diary/book", "/diary/book/check", fields)).TextAsync();
        Assert.Contains("Nothing has been booked", page, StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task An_opening_of_the_day_leads_to_the_first_time_within_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using (var office = await host.ApiAsAsync(await host.Data.OfficeAsync()))
        {
            await office.BookedAsync((await host.Data.PupilAsync("Idris Bell")).Id, instructor.Id, London(2026, 3, 5, 12));
        }

        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));
        var opening = Href(await (await browser.GetAsync("/diary/day?date=2026-03-05")).TextAsync(), "after=2026-03-05T13");
        var whom = Href(await (await browser.GetAsync(opening)).TextAsync(), $"pupil={pupil.Id}");
        var start = Hidden(Card(await (await browser.GetAsync(whom)).TextAsync())).Single(f => f.Name == "start").Value;
        Assert.StartsWith("2026-03-05T13:", start, StringComparison.Ordinal);
        // Without the opening it is the first of the day.
        start = Hidden(Card(await (await browser.GetAsync($"/diary/book?pupil={pupil.Id}&from=2026-03-05")).TextAsync())).Single(f => f.Name == "start").Value;
        Assert.Equal("2026-03-05T08:00:00Z", start);
    }

    [Fact]
    public async Task Staff_find_whom_they_book_for_by_typing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (_, pupil) = await PairAsync(host);
        var left = await host.Data.PupilAsync("Tamsin Gone");
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == left.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, new LocalDate(2026, 2, 1))));
        await host.Data.PupilAsync("Idris Bell");
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var found = await (await browser.GetAsync("/diary/book?find=oak&from=2026-03-05")).TextAsync();
        Assert.Contains($"/diary/book?pupil={pupil.Id}&from=2026-03-05", WebUtility.HtmlDecode(found), StringComparison.Ordinal);
        Assert.DoesNotContain("Idris Bell", found, StringComparison.Ordinal);
        Assert.DoesNotContain("Tamsin Gone", await (await browser.GetAsync("/diary/book?find=tamsin")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Nobody who learns here fits", await (await browser.GetAsync("/diary/book?find=zebedee")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("This is too long to be looked for", await (await browser.GetAsync($"/diary/book?find={new string('x', 201)}")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Who came last", await (await browser.GetAsync("/diary/book?find=")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Who came last", await (await browser.GetAsync("/diary/book")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_the_last_lesson_began_and_ended_is_offered_first()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var places = $"/api/v1/pupils/{pupil.Id}/places";
        foreach (var label in new[] { "Work", "School" })
        {
            await (await office.SendJsonAsync(HttpMethod.Post, places, new { label, latitude = 52.405, longitude = -1.201 })).JsonAsync(HttpStatusCode.Created);
        }

        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Equal(["From Mill Lane", "From Work, then Mill Lane", "From School, then Mill Lane"], await RoutesAsync(browser));
        var school = (await office.GetJsonAsync(places)).GetProperty("items")[1].GetProperty("id").GetGuid();
        await BookedAsync(new { placeId = school }, new { label = "Home", latitude = 0, longitude = 0 }, 10, home: true);
        Assert.Equal(["From School, then Mill Lane", "From Mill Lane", "From Work, then Mill Lane"], await RoutesAsync(browser));
        await BookedAsync(new { label = "Station", latitude = 52.406, longitude = -1.202 }, null, 14);
        Assert.Equal(["From Station", "From Mill Lane", "From Work, then Mill Lane", "From School, then Mill Lane"], await RoutesAsync(browser));

        async Task BookedAsync(object pickUp, object? dropOff, int hour, bool home = false)
        {
            var at = TestData.PlaceAt();
            var end = home ? new { label = at.Label, address = at.Address, postcode = at.Postcode, latitude = at.Latitude, longitude = at.Longitude } : dropOff;
            await (await office.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new { pupilId = pupil.Id, instructorId = instructor.Id, start = $"{London(2026, 3, 5, hour)}", minutes = 60, pickUp, dropOff = end })).JsonAsync(HttpStatusCode.Created);
        }
    }

    private static async Task<IEnumerable<string>> RoutesAsync(HttpClient browser) =>
        Routes().Matches(await (await browser.GetAsync("/diary/book")).TextAsync()).Select(route => route.Groups[1].Value.Trim());

    private static string Card(string page) => page.Split("id=\"first-free\"")[1].Split("</section>")[0];

    private static (string Name, string Value)[] Hidden(string card) => [.. Fields().Matches(card).Select(field => (field.Groups[1].Value, field.Groups[2].Value)).Where(f => !f.Item1.StartsWith("__", StringComparison.Ordinal))];

    private static string Href(string page, string with) =>
        Links().Matches(page).Select(link => WebUtility.HtmlDecode(link.Groups[1].Value)).First(href => href.StartsWith("/diary/book?", StringComparison.Ordinal) && href.Contains(with, StringComparison.Ordinal));

    private static async Task<(Instructor Instructor, Pupil Pupil)> PairAsync(SchoolHost host)
    {
        var instructor = await host.Data.InstructorAsync();
        return (instructor, await host.Data.PupilAsync(instructor: instructor.Id));
    }

    [GeneratedRegex("<input type=\"hidden\" name=\"([^\"]+)\" value=\"([^\"]*)\"")]
    private static partial Regex Fields();

    [GeneratedRegex("href=\"([^\"]+)\"")]
    private static partial Regex Links();

    [GeneratedRegex("<bdi>(From [^<]+)</bdi>")]
    private static partial Regex Routes();
}
