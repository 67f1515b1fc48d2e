using System.Net;
using NodaTime;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus;

public sealed class PracticeTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_pupil_logs_changes_and_removes_a_drive_and_staff_see_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var marigold = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: marigold.Id);
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(marigold));

        var made = await own.SendAsync(HttpMethod.Post, Url(pupil), Drive(conditions: ["rain", "dark"], skills: ["signals", "mirrors"]));
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var drive = await made.JsonAsync();
        Assert.Equal(["mirrors", "signals"], drive.GetProperty("skills").EnumerateArray().Select(s => s.GetString()));
        Assert.Equal(("Fern Oakley", 45, "Tamsin Oakley"), (drive.GetProperty("supervisor").GetString(), drive.GetProperty("minutes").GetInt32(), drive.GetProperty("loggedBy").GetString()));

        var one = $"{Url(pupil)}/{drive.GetProperty("id").GetGuid()}";
        var changed = await own.SendAsync(HttpMethod.Put, one, Drive(minutes: 60), ("If-Match", made.Headers.ETag!.ToString()));
        Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await own.SendAsync(HttpMethod.Put, one, Drive(minutes: 61), ("If-Match", made.Headers.ETag.ToString()))).StatusCode);
        Assert.Equal(428, (int)(await own.SendAsync(HttpMethod.Put, one, Drive())).StatusCode);

        var seen = Assert.Single((await (await instructor.GetAsync(Url(pupil))).JsonAsync()).GetProperty("items").EnumerateArray());
        Assert.Equal(60, seen.GetProperty("minutes").GetInt32());

        Assert.Equal(HttpStatusCode.NoContent, (await own.SendAsync(HttpMethod.Delete, one, null)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await own.SendAsync(HttpMethod.Delete, one, null)).StatusCode);
        Assert.Equal(0, (await (await own.GetAsync(Url(pupil))).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    [Theory]
    [InlineData("2026-03-03", 45, "Fern", "on")] // tomorrow, by the test's clock
    [InlineData("2024-05-03", 45, "Fern", "on")] // the day before the seventeenth birthday
    [InlineData(null, 45, "Fern", "on")]
    [InlineData("2026-03-01", 0, "Fern", "minutes")]
    [InlineData("2026-03-01", -5, "Fern", "minutes")]
    [InlineData("2026-03-01", 601, "Fern", "minutes")]
    [InlineData("2026-03-01", null, "Fern", "minutes")]
    [InlineData("2026-03-01", 45, "  ", "supervisor")]
    [InlineData("2026-03-01", 45, null, "supervisor")]
    public async Task A_drive_that_cannot_have_been_is_refused_beside_its_field(string? on, int? minutes, string? supervisor, string field)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Equal([field], await (await own.SendAsync(HttpMethod.Post, Url(pupil), new { on, minutes, supervisor })).WrongFieldsAsync());
        Assert.Equal(0, (await (await own.GetAsync(Url(pupil))).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task The_seventeenth_birthday_is_the_first_day_and_the_provisional_licence_may_make_it_later()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        // Born 4 May 2007; 17 is the least age: gov.uk/driving-lessons-learning-to-drive, read 25 November 2026.
        Assert.Equal(HttpStatusCode.Created, (await own.SendAsync(HttpMethod.Post, Url(pupil), Drive("2024-05-04"))).StatusCode);
        await host.WithDbAsync(async db =>
        {
            db.Attach(pupil).Entity.LicenceFrom = new LocalDate(2025, 1, 1);
            return await db.SaveChangesAsync();
        });
        var refused = await own.SendAsync(HttpMethod.Post, Url(pupil), Drive("2024-12-31"));
        Assert.Equal(["on"], await refused.WrongFieldsAsync());
        Assert.Contains("1 January 2025", (await refused.JsonAsync()).GetProperty("detail").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Of_many_drives_the_latest_are_shown_and_all_of_them_counted()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        for (var day = 0; day < 51; day++)
        {
            await host.AddAsync(new PrivatePractice
            {
                PupilId = pupil.Id,
                On = new LocalDate(2026, 1, 1).PlusDays(day),
                Minutes = 60,
                Supervisor = $"Supervisor {day:00}",
                Edition = 1,
                LoggedAt = host.Clock.GetCurrentInstant(),
                LoggedBy = pupil.Name,
            });
        }

        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var url = $"/syllabus/progress/{pupil.Id}/practice";
        var (latest, all) = (await pages.GetStringAsync(url), await pages.GetStringAsync($"{url}?all=true"));
        Assert.Contains("51 hours", latest, StringComparison.Ordinal);
        Assert.Contains("Supervisor 50", latest, StringComparison.Ordinal);
        Assert.Contains("All 51 drives", latest, StringComparison.Ordinal);
        Assert.DoesNotContain("Supervisor 00", latest, StringComparison.Ordinal);
        Assert.Contains("Supervisor 00", all, StringComparison.Ordinal);
        Assert.DoesNotContain("All 51 drives", all, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Unknown_conditions_skills_and_members_are_refused()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Equal(["skills"], await (await own.SendAsync(HttpMethod.Post, Url(pupil), Drive(skills: ["juggling"]))).WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.BadRequest, (await own.SendAsync(HttpMethod.Post, Url(pupil), Drive(conditions: ["volcano"]))).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await own.SendAsync(HttpMethod.Post, Url(pupil), new { on = "2026-03-01", minutes = 45, supervisor = "Fern", paid = 20 })).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await own.SendAsync(HttpMethod.Post, Url(pupil), new { on = "yesterday", minutes = 45, supervisor = "Fern" })).StatusCode);
    }

    [Fact]
    public async Task Ten_hours_a_day_are_the_most_however_many_drives_they_were_and_at_once_too()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var answers = await Task.WhenAll(Enumerable.Range(0, 5).Select(_ => own.SendAsync(HttpMethod.Post, Url(pupil), Drive(minutes: 250))));
        Assert.Equal(2, answers.Count(a => a.StatusCode == HttpStatusCode.Created));
        Assert.All(answers.Where(a => a.StatusCode != HttpStatusCode.Created), a => Assert.Equal(HttpStatusCode.BadRequest, a.StatusCode));
        Assert.Equal(HttpStatusCode.Created, (await own.SendAsync(HttpMethod.Post, Url(pupil), Drive("2026-02-28", 600))).StatusCode);
    }

    [Fact]
    public async Task The_same_key_logs_a_drive_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        for (var i = 0; i < 2; i++)
        {
            Assert.Equal(HttpStatusCode.Created, (await own.SendAsync(HttpMethod.Post, Url(pupil), Drive(), ("Idempotency-Key", "one"))).StatusCode);
        }

        Assert.Equal(1, (await (await own.GetAsync(Url(pupil))).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task Drives_of_another_pupil_are_not_found_and_those_of_one_who_left_stay_as_they_are()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, other) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Bryony Vale"));
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        using var stranger = await host.ApiAsAsync(await host.Data.PersonAsync(other));
        var id = (await (await own.SendAsync(HttpMethod.Post, Url(pupil), Drive())).JsonAsync()).GetProperty("id").GetGuid();
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.GetAsync(Url(pupil))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.SendAsync(HttpMethod.Post, Url(pupil), Drive())).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.SendAsync(HttpMethod.Put, $"{Url(pupil)}/{id}", Drive(), ("If-Match", "*"))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.SendAsync(HttpMethod.Put, $"{Url(other)}/{id}", Drive(), ("If-Match", "*"))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.SendAsync(HttpMethod.Delete, $"{Url(other)}/{id}", null)).StatusCode);
        await host.WithDbAsync(async db =>
        {
            db.Attach(pupil).Entity.RetiredOn = new LocalDate(2026, 3, 1);
            return await db.SaveChangesAsync();
        });
        Assert.Equal("pupil_left", await (await own.SendAsync(HttpMethod.Post, Url(pupil), Drive())).CodeAsync());
    }

    private static string Url(Pupil pupil) => $"/api/v1/pupils/{pupil.Id}/practice";

    private static object Drive(string on = "2026-03-01", int minutes = 45, string[]? conditions = null, string[]? skills = null) =>
        new { on, minutes, supervisor = "Fern\u202E Oakley", conditions = conditions ?? [], skills = skills ?? [] };
}
