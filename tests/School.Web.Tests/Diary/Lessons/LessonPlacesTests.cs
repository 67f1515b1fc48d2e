using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>Another pick-up or drop-off, chosen before the time and carried to the end.</summary>
public sealed class LessonPlacesTests(TestPostgres postgres)
{
    private const string Start = "2026-03-05T10:00:00Z";
    private const string College =
        "&Places.PickUpAt=Other&Places.DropOffAt=Usual&Places.PickUp.Label=College&Places.PickUp.Address=Larkfield%20College%2C%20gate%20B&Places.PickUp.Postcode=&Places.PickUp.Position=52.405%2C%20-1.201";

    [Fact]
    public async Task A_pupil_is_picked_up_elsewhere_and_brought_home()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Contains("Another pick-up or drop-off", await (await browser.GetAsync("/diary/book")).TextAsync(), StringComparison.Ordinal);
        var times = await (await browser.GetAsync("/diary/book?minutes=60" + College)).TextAsync();
        Assert.Contains("from College to Mill Lane.", times, StringComparison.Ordinal);
        Assert.Contains("Places.PickUp.Position=52.405%2C%20-1.201", times, StringComparison.Ordinal);

        var check = $"/diary/book/check?start={Start}&minutes=60&with={instructor.Id}{College}";
        var page = await (await browser.GetAsync(check)).TextAsync();
        Assert.Contains("Larkfield College, gate B", page, StringComparison.Ordinal);
        Assert.Contains("12 Mill Lane, Larkfield", page, StringComparison.Ordinal);
        Assert.Contains("name=\"Places.PickUp.Label\" value=\"College\"", page, StringComparison.Ordinal);

        var booked = await browser.PostFormAsync(check, "/diary/book/check", [.. Fields(instructor.Id), .. CollegeFields]);
        Assert.Equal(HttpStatusCode.Redirect, booked.StatusCode);
        var lesson = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync());
        Assert.Equal(("College", 52.405, -1.201), (lesson.PickUp.Label, lesson.PickUp.Latitude, lesson.PickUp.Longitude));
        Assert.Equal(TestData.PlaceAt(), lesson.DropOff);

        var id = lesson.Id;
        var move = await (await browser.GetAsync($"/diary/lessons/{id}/move/check?start=2026-03-06T12:00:00Z")).TextAsync();
        Assert.Contains("Larkfield College, gate B", move, StringComparison.Ordinal);
        Assert.Contains("12 Mill Lane, Larkfield", move, StringComparison.Ordinal);
        await browser.PostFormAsync($"/diary/lessons/{id}/move/check?start=2026-03-06T12:00:00Z", $"/diary/lessons/{id}/move/check", ("start", "2026-03-06T12:00:00Z"));
        var moved = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync());
        Assert.Equal((London(2026, 3, 6, 12), lesson.PickUp, lesson.DropOff), (moved.StartsAt, moved.PickUp, moved.DropOff));
    }

    [Fact]
    public async Task The_time_is_checked_for_the_place_that_was_chosen()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        var other = await host.Data.PupilAsync("Idris Bell");
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await office.BookedAsync(other.Id, instructor.Id, London(2026, 3, 5, 11, 30));
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var check = $"/diary/book/check?start={Start}&minutes=60&with={instructor.Id}";
        Assert.Contains("<h1>Check and book</h1>", await (await browser.GetAsync(check)).TextAsync(), StringComparison.Ordinal);

        // Thirty miles north: no way to be back for the lesson at half past eleven.
        var far = College.Replace("52.405", "52.835", StringComparison.Ordinal).Replace("DropOffAt=Usual", "DropOffAt=PickUp", StringComparison.Ordinal);
        var refused = await (await browser.GetAsync(check + far)).TextAsync();
        Assert.Contains("<h1>Choose another time</h1>", refused, StringComparison.Ordinal);
        Assert.Contains("to get from one place to the other", refused, StringComparison.Ordinal);
        Assert.DoesNotContain("start=2026-03-05T10:00:00Z", await (await browser.GetAsync("/diary/book?from=2026-03-05&minutes=60" + far)).TextAsync(), StringComparison.Ordinal);
        var posted = await browser.PostFormAsync(
            check, "/diary/book/check", [.. Fields(instructor.Id), .. CollegeFields.Select(f => f.Name == "Places.DropOffAt" ? (f.Name, "PickUp") : (f.Name, f.Value.Replace("52.405", "52.835", StringComparison.Ordinal)))]);
        Assert.Contains("<h1>Choose another time</h1>", await posted.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task A_place_that_cannot_be_found_is_told_beside_its_field_and_no_times_are_shown_for_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var wrong = College.Replace("52.405%2C%20-1.201", "by%20the%20oak", StringComparison.Ordinal);
        var page = await (await browser.GetAsync("/diary/book?minutes=60" + wrong)).TextAsync();
        Assert.Contains("Places_PickUp_Position-error", page, StringComparison.Ordinal);
        Assert.Contains("value=\"by the oak\"", page, StringComparison.Ordinal);
        Assert.Contains("value=\"Larkfield College, gate B\"", page, StringComparison.Ordinal);
        Assert.DoesNotContain("/diary/book/check", page, StringComparison.Ordinal);

        var back = await browser.GetAsync($"/diary/book/check?start={Start}&minutes=60&with={instructor.Id}{wrong}");
        Assert.StartsWith("/diary/book?minutes=60", back.Headers.Location!.OriginalString, StringComparison.Ordinal);
        Assert.Contains("by%20the%20oak", back.Headers.Location.OriginalString, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Staff_choose_places_too_and_see_what_the_search_used()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var search = $"/diary/lessons/new?pupilId={pupil.Id}&instructorId={instructor.Id}&from=2026-03-03&to=2026-03-09&minutes=";
        var usual = await (await office.GetAsync(search)).TextAsync();
        Assert.Contains("For <b>Tamsin Oakley</b>: <b>1 hour</b> with <b>Marigold Ashby</b>, Tuesday 3 to Monday 9 March, from Mill Lane.", usual, StringComparison.Ordinal);
        var page = await (await office.GetAsync($"{search}90{College}")).TextAsync();
        Assert.Contains("<b>1½ hours</b> with <b>Marigold Ashby</b>, Tuesday 3 to Monday 9 March, from College to Mill Lane.", page, StringComparison.Ordinal);
        Assert.Contains($"&minutes=90&with={instructor.Id}{College}", page, StringComparison.Ordinal);
        Assert.Contains("Places_PickUp_Position-error", await (await office.GetAsync(search + College.Replace("52.405", "152", StringComparison.Ordinal))).TextAsync(), StringComparison.Ordinal);
    }

    private static (string Name, string Value)[] CollegeFields =>
    [
        ("Places.PickUpAt", "Other"), ("Places.DropOffAt", "Usual"), ("Places.PickUp.Label", "College"),
        ("Places.PickUp.Address", "Larkfield College, gate B"), ("Places.PickUp.Postcode", ""), ("Places.PickUp.Position", "52.405, -1.201"),
    ];

    private static (string Name, string Value)[] Fields(Guid instructor) => [("start", Start), ("minutes", "60"), ("with", $"{instructor}")];

    private static async Task<(Instructor Instructor, Pupil Pupil)> PairAsync(SchoolHost host)
    {
        var instructor = await host.Data.InstructorAsync();
        return (instructor, await host.Data.PupilAsync(instructor: instructor.Id));
    }
}
