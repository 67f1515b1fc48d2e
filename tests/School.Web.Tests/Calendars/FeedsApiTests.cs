using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Calendars;

public sealed class FeedsApiTests(TestPostgres postgres)
{
    private const string Feeds = "/api/v1/feeds";

    [Fact]
    public async Task Making_a_feed_tells_its_address_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));

        var answer = await api.PostAsJsonAsync(Feeds, new { pupilId = pupil.Id, detail = "area" });

        Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
        var made = await answer.Content.ReadFromJsonAsync<JsonElement>();
        var url = made.GetProperty("url").GetString()!;
        Assert.Matches("^https://localhost/calendar/[A-Za-z0-9_-]{43}\\.ics$", url);
        Assert.Equal(url.Replace("https:", "webcal:", StringComparison.Ordinal), made.GetProperty("webcalUrl").GetString());
        var told = await (await api.GetAsync(answer.Headers.Location)).Content.ReadAsStringAsync();
        Assert.Contains("\"area\"", told, StringComparison.Ordinal);
        Assert.DoesNotContain("calendar/", told, StringComparison.Ordinal);
        Assert.DoesNotContain("calendar/", await api.GetStringAsync(Feeds), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Without_a_public_address_the_feeds_is_where_the_request_came_in()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:PublicUrl", ""));
        var pupil = await host.Data.PupilAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        api.DefaultRequestHeaders.Host = "school.larkfield.example:8443";

        Assert.StartsWith("https://school.larkfield.example:8443/calendar/", await api.FeedAsync(new { pupilId = pupil.Id, detail = "busy" }), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Pupils_and_instructors_make_feeds_of_their_own_lessons_only()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, otherPupil) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Ottoline Fenn"));
        var (instructor, otherInstructor) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Barnaby Wick"));
        var car = await host.Data.CarAsync(instructor.Id);
        using var asPupil = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        using var asInstructor = await host.ApiAsAsync(await host.Data.PersonAsync(instructor));
        using var asOffice = await host.ApiAsAsync(await host.Data.OfficeAsync());
        object Of(string key, Guid id) => new Dictionary<string, object> { [key] = id, ["detail"] = "full" };

        foreach (var (key, id, may) in new[]
        {
            ("pupilId", pupil.Id, "pupil office"),
            ("pupilId", otherPupil.Id, "office"),
            ("instructorId", instructor.Id, "instructor office"),
            ("instructorId", otherInstructor.Id, "office"),
            ("carId", car.Id, "office"),
            ("pupilId", Guid.NewGuid(), ""),
            ("instructorId", Guid.NewGuid(), ""),
            ("carId", Guid.NewGuid(), ""),
        })
        {
            foreach (var (who, client) in new[] { ("pupil", asPupil), ("instructor", asInstructor), ("office", asOffice) })
            {
                var expected = may.Contains(who, StringComparison.Ordinal) ? HttpStatusCode.Created : HttpStatusCode.NotFound;
                Assert.True(expected == (await client.PostAsJsonAsync(Feeds, Of(key, id))).StatusCode, $"{who} {key}");
            }
        }
    }

    [Fact]
    public async Task A_feed_is_seen_and_revoked_by_whom_it_is_about_and_by_the_office()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        using var pupil = await host.ApiAsAsync(await host.Data.PersonAsync(school.Pupil));
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(school.Instructor));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var url = await office.FeedAsync(new { pupilId = school.Pupil.Id, detail = "full" });

        Assert.Empty(await IdsAsync(instructor));
        var id = Assert.Single(await IdsAsync(pupil));
        Assert.Equal([id], await IdsAsync(office));
        Assert.Equal(HttpStatusCode.NotFound, (await instructor.DeleteAsync($"{Feeds}/{id}")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await host.ReadAsync(url)).StatusCode);

        Assert.Equal(HttpStatusCode.NoContent, (await pupil.DeleteAsync($"{Feeds}/{id}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await host.ReadAsync(url)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await pupil.DeleteAsync($"{Feeds}/{id}")).StatusCode);
        Assert.Empty(await IdsAsync(office));
    }

    [Theory]
    [InlineData("""{"detail":"full"}""", "subject")]
    [InlineData("""{"pupilId":"$","carId":"$","detail":"full"}""", "subject")]
    [InlineData("""{"pupilId":"$"}""", "detail")]
    [InlineData("""{"pupilId":"$","detail":"everything"}""", "detail")]
    [InlineData("""{"pupilId":"nobody","detail":"full"}""", "pupilId")]
    public async Task A_request_that_is_not_right_says_where(string body, string field)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));

        var answer = await api.PostAsync(Feeds, new StringContent(body.Replace("$", pupil.Id.ToString(), StringComparison.Ordinal), null, "application/json"));

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.True((await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("errors").TryGetProperty(field, out _), await answer.Content.ReadAsStringAsync());
    }

    [Fact]
    public async Task A_person_has_at_most_twenty_feeds()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        for (var n = 0; n < 20; n++)
        {
            await api.FeedAsync(new { pupilId = pupil.Id, detail = "busy" });
        }

        Assert.Equal(HttpStatusCode.UnprocessableEntity, (await api.PostAsJsonAsync(Feeds, new { pupilId = pupil.Id, detail = "busy" })).StatusCode);
        await api.DeleteAsync($"{Feeds}/{(await IdsAsync(api))[0]}");
        await api.FeedAsync(new { pupilId = pupil.Id, detail = "busy" });
    }

    [Fact]
    public async Task Nobody_makes_a_feed_without_signing_in()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var client = host.Anonymous();
        Assert.Equal(HttpStatusCode.Unauthorized, (await client.PostAsJsonAsync(Feeds, new { pupilId = Guid.NewGuid(), detail = "full" })).StatusCode);
        Assert.Equal(HttpStatusCode.Unauthorized, (await client.GetAsync(Feeds)).StatusCode);
    }

    private static async Task<List<Guid>> IdsAsync(HttpClient api) =>
        [.. (await api.GetFromJsonAsync<JsonElement>(Feeds)).GetProperty("items").EnumerateArray().Select(f => f.GetProperty("id").GetGuid())];
}
