using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Supervision;

/// <summary>A trainee's daily record under option 1: SI 2005/1902 regulation 15(2), one fifth of the time of all paid lessons.</summary>
public sealed class SupervisionTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_share_is_one_fifth_of_the_time_given_and_the_record_names_who_sat_in()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (trainee, own) = await TraineeAsync(host);
        var sponsor = await host.Data.InstructorAsync("Bram Holt");
        // 47 h 30 min need 9 h 30 min: twenty-four lessons of 115 minutes and one of 90.
        for (var n = 0; n < 24; n++)
        {
            await GivenAsync(host, trainee, London(2026, 2, 1 + n, 10), 115);
        }

        await GivenAsync(host, trainee, London(2026, 2, 25, 10), 90);
        var read = await own.GetJsonAsync(Url(trainee));
        Assert.Equal((47 * 60 + 30, 0, 9 * 60 + 30, false), Sums(read));

        for (var n = 0; n < 5; n++)
        {
            var kept = await (await KeepAsync(own, trainee, $"2026-02-{1 + n:00}", new { minutes = n < 4 ? 115 : 109, byInstructorId = sponsor.Id })).JsonAsync();
            Assert.Equal(("Bram Holt", sponsor.RegistrationNumber), (kept.Word("byName"), kept.Word("byNumber")));
        }

        // One minute too little, then put right.
        Assert.Equal((47 * 60 + 30, 569, 570, false), Sums(await own.GetJsonAsync(Url(trainee))));
        var tag = (await own.GetAsync($"{Url(trainee)}/2026-02-05")).Headers.ETag!.Tag;
        await (await KeepAsync(own, trainee, "2026-02-05", new { minutes = 110, byName = "Wren Castellan", byNumber = "482915" }, tag)).JsonAsync();
        var enough = await own.GetJsonAsync(Url(trainee));
        Assert.Equal((47 * 60 + 30, 570, 570, true), Sums(enough));
        var day = enough.GetProperty("days").EnumerateArray().Single(d => d.Word("date") == "2026-02-05");
        Assert.Equal(("Wren Castellan", 115, 110), (day.Word("byName"), day.GetProperty("givenMinutes").GetInt32(), day.GetProperty("supervisedMinutes").GetInt32()));

        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await pages.GetAsync($"/diary/supervision/{trainee.Id}")).TextAsync();
        Assert.Contains("20.0 %", page, StringComparison.Ordinal);
        Assert.Contains("Who sat in signs", page, StringComparison.Ordinal);
        Assert.Contains("Wren Castellan", page, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NoContent, (await own.DeleteAsync($"{Url(trainee)}/2026-02-05")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await own.DeleteAsync($"{Url(trainee)}/2026-02-05")).StatusCode);
        Assert.Equal((47 * 60 + 30, 460, 570, false), Sums(await own.GetJsonAsync(Url(trainee))));
    }

    [Fact]
    public async Task What_cannot_have_been_is_refused_and_nothing_is_kept()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (trainee, own) = await TraineeAsync(host);
        var (sponsor, other) = (await host.Data.InstructorAsync("Bram Holt"), await TraineeAsync(host, "Joss Penhallow"));
        await GivenAsync(host, trainee, London(2026, 2, 25, 10), 90);
        await GivenAsync(host, trainee, London(2026, 3, 9, 10), 90);

        await WrongAsync("2026-02-25", new { minutes = 91, byInstructorId = sponsor.Id }, "minutes");
        await WrongAsync("2026-02-24", new { minutes = 1, byInstructorId = sponsor.Id }, "minutes");
        await WrongAsync("2026-02-25", new { minutes = 0 }, "byName", "byNumber", "minutes");
        await WrongAsync("2026-02-25", new { minutes = 60, byInstructorId = other.Trainee.Id }, "byInstructorId");
        await WrongAsync("2026-02-25", new { minutes = 60, byInstructorId = trainee.Id }, "byInstructorId");
        await WrongAsync("2026-02-25", new { minutes = 60, byInstructorId = sponsor.Id, byName = "Wren" }, "byInstructorId");
        await WrongAsync("2026-03-09", new { minutes = 60, byInstructorId = sponsor.Id }, "date");
        await WrongAsync("2025-12-31", new { minutes = 60, byInstructorId = sponsor.Id }, "date");
        Assert.Equal(HttpStatusCode.BadRequest, (await KeepAsync(own, trainee, "yesterday", new { minutes = 60 })).StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await own.SendJsonAsync(Put, $"{Url(trainee)}/2026-02-25", new { minutes = 60, byInstructorId = sponsor.Id })).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await KeepAsync(other.Api, trainee, "2026-02-25", new { minutes = 60, byInstructorId = sponsor.Id })).StatusCode);
        Assert.Equal(0, (await own.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());

        await (await KeepAsync(own, trainee, "2026-02-25", new { minutes = 60, byInstructorId = sponsor.Id })).JsonAsync();
        Assert.Equal("stale", await (await KeepAsync(own, trainee, "2026-02-25", new { minutes = 70, byInstructorId = sponsor.Id }, "\"9\"")).CodeAsync(HttpStatusCode.PreconditionFailed));

        using var approved = await host.ApiAsAsync(await host.Data.PersonAsync(sponsor));
        Assert.Equal("no_supervision_kept", await (await approved.GetAsync(Url(sponsor))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("no_supervision_kept", await (await KeepAsync(approved, sponsor, "2026-02-25", new { minutes = 60 })).CodeAsync(HttpStatusCode.UnprocessableEntity));

        async Task WrongAsync(string date, object body, params string[] fields) => Assert.Equal(fields, await (await KeepAsync(own, trainee, date, body)).WrongFieldsAsync());
    }

    [Fact]
    public async Task A_day_of_which_less_was_given_after_all_is_told_and_counts_no_more_than_that()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (trainee, own) = await TraineeAsync(host);
        var sponsor = await host.Data.InstructorAsync("Bram Holt");
        var lesson = await GivenAsync(host, trainee, London(2026, 2, 25, 10), 90);
        await (await KeepAsync(own, trainee, "2026-02-25", new { minutes = 90, byInstructorId = sponsor.Id })).JsonAsync();
        await (await own.RecordAsync(lesson, 60, "Cut short.")).JsonAsync();

        Assert.Equal((60, 60, 12, true), Sums(await own.GetJsonAsync(Url(trainee))));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("more than was given", await (await office.GetAsync($"/diary/supervision/{trainee.Id}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_taught_a_lesson_of_their_own_then_is_refused_once_and_the_audit_keeps_that_it_was_confirmed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (trainee, own) = await TraineeAsync(host);
        var sponsor = await host.Data.InstructorAsync("Bram Holt");
        await GivenAsync(host, trainee, London(2026, 2, 25, 10), 90);
        await GivenAsync(host, sponsor, London(2026, 2, 25, 11), 60);

        // Half an hour is shared: an hour is left of ninety minutes.
        await (await KeepAsync(own, trainee, "2026-02-25", new { minutes = 60, byInstructorId = sponsor.Id })).JsonAsync();
        Assert.Equal(HttpStatusCode.NoContent, (await own.DeleteAsync($"{Url(trainee)}/2026-02-25")).StatusCode);
        var problem = await (await KeepAsync(own, trainee, "2026-02-25", new { minutes = 61, byInstructorId = sponsor.Id })).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal("supervisor_elsewhere", problem.Word("code"));
        Assert.Contains("Wednesday 25 February, 11:00", problem.GetProperty("errors").GetProperty("byInstructorId")[0].GetString(), StringComparison.Ordinal);

        var url = $"/diary/supervision/{trainee.Id}";
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        (string, string)[] form = [("Input.Date", "2026-02-25"), ("Input.Minutes", "90"), ("Input.By", sponsor.Id.ToString())];
        Assert.DoesNotContain("They were there all the same", await (await pages.GetAsync(url)).TextAsync(), StringComparison.Ordinal);
        using var asked = await pages.PostFormAsync(url, $"{url}?handler=Keep", form);
        Assert.Contains("They were there all the same", await asked.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(0, (await own.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());
        using var kept = await pages.PostFormAsync(url, $"{url}?handler=Keep", [.. form, ("Input.ThereAllTheSame", "true")]);
        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);
        var noted = await host.WithDbAsync(db => db.Set<Modules.Records.AuditEntry>().Where(a => a.What == "instructor.supervision" && a.AboutId == trainee.Id).Select(a => a.Words).ToListAsync());
        Assert.Single(noted, words => words.Contains("Wednesday 25 February, 11:00", StringComparison.Ordinal) && words.EndsWith("Confirmed: they were there all the same.", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_day_is_kept_and_taken_back_on_the_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (trainee, own) = await TraineeAsync(host);
        var sponsor = await host.Data.InstructorAsync("Bram Holt");
        await GivenAsync(host, trainee, London(2026, 2, 25, 10), 90);
        var url = $"/diary/supervision/{trainee.Id}";
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());

        using var wrong = await pages.PostFormAsync(url, $"{url}?handler=Keep", ("Input.Date", "2026-02-25"), ("Input.Minutes", "120"), ("Input.By", sponsor.Id.ToString()));
        Assert.Contains("lasted 1½ hours together", await wrong.TextAsync(), StringComparison.Ordinal);
        using var kept = await pages.PostFormAsync(url, $"{url}?handler=Keep", ("Input.Date", "2026-02-25"), ("Input.Minutes", "45"), ("Input.By", sponsor.Id.ToString()));
        Assert.True(kept.StatusCode == HttpStatusCode.Redirect, await kept.TextAsync());
        Assert.Equal(45, (await own.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());
        using var removed = await pages.PostFormAsync(url, $"{url}?handler=Remove", ("date", "2026-02-25"));
        Assert.Equal(HttpStatusCode.Redirect, removed.StatusCode);
        Assert.Equal(0, (await own.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());
    }

    private static string Url(Instructor trainee) => $"/api/v1/instructors/{trainee.Id}/supervision";

    private static Task<HttpResponseMessage> KeepAsync(HttpClient api, Instructor trainee, string date, object body, string etag = "*") =>
        api.SendJsonAsync(Put, $"{Url(trainee)}/{date}", body, etag: etag);

    private static (int Given, int Supervised, int Needed, bool Enough) Sums(JsonElement record) => (
        record.GetProperty("givenMinutes").GetInt32(), record.GetProperty("supervisedMinutes").GetInt32(), record.GetProperty("neededMinutes").GetInt32(), record.GetProperty("enough").GetBoolean());

    private static async Task<(Instructor Trainee, HttpClient Api)> TraineeAsync(SchoolHost host, string name = "Sable Kinnear")
    {
        var trainee = await host.Data.InstructorAsync(name);
        await host.WithDbAsync(async db =>
        {
            var row = await db.FindAsync<Instructor>(trainee.Id);
            (row!.Registration, row.RegisteredFrom, row.RegisteredTo, row.TraineeOption) = (RegistrationKind.Trainee, new(2026, 1, 1), new(2026, 6, 30), TraineeOption.Supervision);
            return await db.SaveChangesAsync();
        });
        return (trainee, await host.ApiAsAsync(await host.Data.PersonAsync(trainee)));
    }

    private static async Task<Guid> GivenAsync(SchoolHost host, Instructor trainee, Instant start, int minutes)
    {
        var pupil = await host.Data.PupilAsync();
        var car = (await host.WithDbAsync(db => Task.FromResult(db.Set<Modules.Cars.Holding>().First(h => h.InstructorId == trainee.Id)))).CarId;
        var lesson = Lesson.Book(pupil.Id, trainee.Id, car, new(start, start + Duration.FromMinutes(minutes)), TestData.PlaceAt(), TestData.PlaceAt(), start - Duration.FromDays(7));
        await host.AddAsync(lesson);
        return lesson.Id;
    }
}
