using System.Net;
using NodaTime;
using School.Core.Diary;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Supervision;
using School.Web.Modules.People;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Supervision;

/// <summary>The daily record outlives the licence that it was kept under, and nothing in it is written over unseen.</summary>
public sealed class KeptRecordTests(TestPostgres postgres)
{
    private static readonly LocalDate Day = new(2026, 2, 25);

    [Fact]
    public async Task A_trainee_whose_number_and_last_day_are_still_to_be_asked_has_a_record()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var trainee = await TraineeAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await ChangeAsync(host, trainee, row => row.RegistrationNumber = "");
        Assert.Equal(("2026-01-01", "2026-03-02"), (await PeriodAsync(office, trainee)));
        Assert.Contains("number still to be asked", await (await pages.GetAsync(Page(trainee))).TextAsync(), StringComparison.Ordinal);

        await ChangeAsync(host, trainee, row => row.RegisteredTo = null);
        Assert.Equal(("2026-01-01", "2026-03-02"), (await PeriodAsync(office, trainee)));
        Assert.Contains("last day still to be asked", await (await pages.GetAsync(Page(trainee))).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Only_whose_registration_is_known_and_held_that_day_sat_in()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var trainee = await TraineeAsync(host);
        var (good, ended, unknown) = (await host.Data.InstructorAsync("Bram Holt"), await host.Data.InstructorAsync("Wren Castellan"), await host.Data.InstructorAsync("Sorrel Finch"));
        await ChangeAsync(host, ended, row => row.RegisteredTo = Day.PlusDays(-1));
        await ChangeAsync(host, unknown, row => (row.Registration, row.RegisteredTo) = (null, null));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        foreach (var wrong in new[] { ended, unknown })
        {
            Assert.Equal(["byInstructorId"], await (await KeepAsync(office, trainee, 60, wrong)).WrongFieldsAsync());
        }

        await (await KeepAsync(office, trainee, 60, good)).JsonAsync();
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var shown = await (await pages.GetAsync(Page(trainee))).TextAsync();
        Assert.Contains($"value=\"{good.Id}\"", shown, StringComparison.Ordinal);
        Assert.DoesNotContain($"value=\"{unknown.Id}\"", shown, StringComparison.Ordinal);
        await ChangeAsync(host, ended, row => row.RegisteredTo = new(2025, 12, 31));
        Assert.DoesNotContain($"value=\"{ended.Id}\"", await (await pages.GetAsync(Page(trainee))).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_day_entered_already_is_told_and_put_right_only_by_who_saw_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var trainee = await TraineeAsync(host);
        var sponsor = await host.Data.InstructorAsync("Bram Holt");
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal("stale", await (await KeepAsync(office, trainee, 60, sponsor, "\"1\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        await (await KeepAsync(office, trainee, 60, sponsor)).JsonAsync();
        var refused = await KeepAsync(office, trainee, 30, sponsor);
        Assert.Contains("1 hour by Bram Holt", await refused.TextAsync(), StringComparison.Ordinal);
        Assert.Equal("supervision_entered", await refused.CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal($"{Page(trainee)}?from=2026-02-25&to=2026-02-25", (await refused.JsonAsync(HttpStatusCode.Conflict)).Word("page"));
        var none = await (await office.GetAsync(Url(sponsor))).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(("no_supervision_kept", $"/people/instructors/{sponsor.Id}#Input_TraineeOption"), (none.Word("code"), none.Word("page")));

        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var typed = new[] { ("Input.Date", "2026-02-25"), ("Input.Minutes", "45"), ("Input.By", sponsor.Id.ToString()) };
        using var asked = await pages.PostFormAsync(Page(trainee), $"{Page(trainee)}?handler=Keep", typed);
        var text = await asked.TextAsync();
        Assert.Contains("is entered already: 1 hour by Bram Holt", text, StringComparison.Ordinal);
        Assert.Contains("Put this day right", text, StringComparison.Ordinal);
        Assert.Equal(60, await MinutesAsync(host, trainee));

        var version = System.Text.RegularExpressions.Regex.Match(text, "name=\"Input.Version\" value=\"(\\d+)\"").Groups[1].Value;
        using var right = await pages.PostFormAsync(Page(trainee), $"{Page(trainee)}?handler=Keep", [.. typed, ("Input.Version", version), ("Input.VersionOf", "2026-02-25")]);
        Assert.True(right.StatusCode == HttpStatusCode.Redirect, await right.TextAsync());
        Assert.Equal(45, await MinutesAsync(host, trainee));
    }

    [Fact]
    public async Task What_was_entered_is_shown_under_the_next_licence_under_the_other_option_and_to_one_approved_since()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var trainee = await TraineeAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await (await KeepAsync(office, trainee, 60, await host.Data.InstructorAsync("Bram Holt"))).JsonAsync();

        await ChangeAsync(host, trainee, row => (row.RegisteredFrom, row.RegisteredTo) = (new(2026, 3, 1), new(2026, 8, 31)));
        var next = await office.GetJsonAsync(Url(trainee));
        Assert.Equal((0, "2026-03-01", "2026-02-25", "2026-02-25"), (next.GetProperty("supervisedMinutes").GetInt32(), next.Word("from"), next.Word("enteredFrom"), next.Word("enteredTo")));
        Assert.Equal(60, (await office.GetJsonAsync($"{Url(trainee)}?from=2026-01-01&to=2026-02-28")).GetProperty("supervisedMinutes").GetInt32());
        Assert.Contains("?from=2026-02-25&to=2026-03-02", await (await pages.GetAsync(Page(trainee))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Bram Holt, ", Plain(await (await pages.GetAsync($"{Page(trainee)}?from=2026-01-01&to=2026-02-28")).TextAsync()), StringComparison.Ordinal);
        Assert.Equal(["to"], await (await office.GetAsync($"{Url(trainee)}?from=2026-02-02&to=2026-02-01")).WrongFieldsAsync());

        foreach (var change in new Action<Instructor>[] { row => row.TraineeOption = TraineeOption.Training, row => (row.Registration, row.TraineeOption) = (RegistrationKind.Approved, null) })
        {
            await ChangeAsync(host, trainee, change);
            Assert.Equal(60, (await office.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());
            Assert.Contains("Bram Holt, ", Plain(await (await pages.GetAsync(Page(trainee))).TextAsync()), StringComparison.Ordinal);
            Assert.Contains($"href=\"{Page(trainee)}\"", await (await pages.GetAsync("/diary/supervision")).TextAsync(), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Two_who_sat_in_on_one_day_are_both_kept_summed_up_printed_and_put_right_by_their_number()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var trainee = await TraineeAsync(host);
        var (bram, wren) = (await host.Data.InstructorAsync("Bram Holt"), await host.Data.InstructorAsync("Wren Castellan"));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await (await KeepAsync(office, trainee, 45, bram)).JsonAsync();
        // Together no longer than the lessons were.
        Assert.Equal(["minutes"], await (await KeepAsync(office, trainee, 46, wren)).WrongFieldsAsync());
        using var kept = await pages.PostFormAsync(Page(trainee), $"{Page(trainee)}?handler=Keep", ("Input.Date", "2026-02-25"), ("Input.Minutes", "30"), ("Input.By", wren.Id.ToString()));
        Assert.True(kept.StatusCode == HttpStatusCode.Redirect, await kept.TextAsync());

        var day = (await office.GetJsonAsync(Url(trainee))).GetProperty("days")[0];
        Assert.Equal((75, "Bram Holt"), (day.GetProperty("supervisedMinutes").GetInt32(), day.Word("byName")));
        Assert.Equal([("Bram Holt", 45), ("Wren Castellan", 30)], day.GetProperty("supervised").EnumerateArray().Select(one => (one.Word("byName"), one.GetProperty("minutes").GetInt32())));
        var page = Plain(await (await pages.GetAsync(Page(trainee))).TextAsync());
        Assert.Contains($"Bram Holt, {bram.RegistrationNumber}: 45 min", page, StringComparison.Ordinal);
        Assert.Contains($"Wren Castellan, {wren.RegistrationNumber}: 30 min", page, StringComparison.Ordinal);

        // Of whom it is must be said now, and each is put right and taken back alone.
        var url = $"{Url(trainee)}/2026-02-25";
        Assert.Equal("supervision_by_several", await (await office.GetAsync(url)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("supervision_by_several", await (await office.DeleteAsync(url)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("supervision_by_several", await (await KeepAsync(office, trainee, 20, wren, "\"1\"")).CodeAsync(HttpStatusCode.Conflict));
        var of = $"{url}?byNumber={wren.RegistrationNumber}";
        var tag = (await office.GetAsync(of)).Headers.ETag!.Tag;
        var taken = await office.SendJsonAsync(Put, of, new { minutes = 20, byInstructorId = bram.Id }, etag: tag);
        Assert.Equal("supervision_entered", await taken.CodeAsync(HttpStatusCode.Conflict));
        await (await office.SendJsonAsync(Put, of, new { minutes = 20, byInstructorId = wren.Id }, etag: tag)).JsonAsync();
        Assert.Equal(65, (await office.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());
        using var removed = await pages.PostFormAsync(Page(trainee), $"{Page(trainee)}?handler=Remove", ("date", "2026-02-25"), ("by", bram.RegistrationNumber));
        Assert.Equal(HttpStatusCode.Redirect, removed.StatusCode);
        Assert.Equal(20, (await office.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());
        Assert.Equal("Wren Castellan", (await office.GetJsonAsync(url)).Word("byName"));
    }

    [Fact]
    public async Task A_day_under_a_former_licence_is_entered_anew_where_the_diary_has_lessons_given_then()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var trainee = await TraineeAsync(host);
        var sponsor = await host.Data.InstructorAsync("Bram Holt");
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await ChangeAsync(host, trainee, row => (row.RegisteredFrom, row.RegisteredTo) = (new(2026, 3, 1), new(2026, 8, 31)));

        await (await KeepAsync(office, trainee, 60, sponsor)).JsonAsync();
        Assert.Equal(60, (await office.GetJsonAsync($"{Url(trainee)}?from=2026-01-01&to=2026-02-28")).GetProperty("supervisedMinutes").GetInt32());
        // On a day without a lesson nobody can tell that a licence held.
        Assert.Equal(["date"], await (await office.SendJsonAsync(Put, $"{Url(trainee)}/2026-02-24", new { minutes = 60, byInstructorId = sponsor.Id }, etag: "*")).WrongFieldsAsync());

        // Approved since: what was taken back by mistake is entered again while there is a record.
        await GivenAsync(host, trainee, London(2026, 2, 26, 10));
        await ChangeAsync(host, trainee, row => (row.Registration, row.TraineeOption, row.RegisteredFrom, row.RegisteredTo) = (RegistrationKind.Approved, null, new(2026, 3, 1), new(2030, 2, 28)));
        await (await office.SendJsonAsync(Put, $"{Url(trainee)}/2026-02-26", new { minutes = 30, byInstructorId = sponsor.Id }, etag: "*")).JsonAsync();
        Assert.Equal(90, (await office.GetJsonAsync(Url(trainee))).GetProperty("supervisedMinutes").GetInt32());
    }

    private static string Plain(string html) => html.Replace("<bdi>", "", StringComparison.Ordinal).Replace("</bdi>", "", StringComparison.Ordinal);

    private static string Page(Instructor trainee) => $"/diary/supervision/{trainee.Id}";

    private static string Url(Instructor trainee) => $"/api/v1/instructors/{trainee.Id}/supervision";

    private static Task<HttpResponseMessage> KeepAsync(HttpClient api, Instructor trainee, int minutes, Instructor by, string etag = "*") =>
        api.SendJsonAsync(Put, $"{Url(trainee)}/2026-02-25", new { minutes, byInstructorId = by.Id }, etag: etag);

    private static async Task<(string? From, string? Until)> PeriodAsync(HttpClient api, Instructor trainee) =>
        await api.GetJsonAsync(Url(trainee)) is var read ? (read.Word("from"), read.Word("until")) : default;

    private static Task<int> MinutesAsync(SchoolHost host, Instructor trainee) =>
        host.WithDbAsync(db => Task.FromResult(db.Set<SupervisedDay>().Single(d => d.InstructorId == trainee.Id && d.Date == Day).Minutes));

    private static Task<int> ChangeAsync(SchoolHost host, Instructor instructor, Action<Instructor> change) => host.WithDbAsync(async db =>
    {
        change((await db.FindAsync<Instructor>(instructor.Id))!);
        return await db.SaveChangesAsync();
    });

    /// <summary>A trainee under option 1 who gave a lesson of an hour and a half on the day.</summary>
    private static async Task<Instructor> TraineeAsync(SchoolHost host)
    {
        var trainee = await host.Data.InstructorAsync("Sable Kinnear");
        await ChangeAsync(host, trainee, row =>
            (row.Registration, row.RegisteredFrom, row.RegisteredTo, row.TraineeOption) = (RegistrationKind.Trainee, new(2026, 1, 1), new(2026, 6, 30), TraineeOption.Supervision));
        await GivenAsync(host, trainee, London(2026, 2, 25, 10));
        return trainee;
    }

    private static async Task GivenAsync(SchoolHost host, Instructor trainee, Instant start)
    {
        var pupil = await host.Data.PupilAsync();
        var car = (await host.WithDbAsync(db => Task.FromResult(db.Set<Modules.Cars.Holding>().First(h => h.InstructorId == trainee.Id)))).CarId;
        await host.AddAsync(Lesson.Book(pupil.Id, trainee.Id, car, new(start, start + Duration.FromMinutes(90)), TestData.PlaceAt(), TestData.PlaceAt(), start - Duration.FromDays(7)));
    }
}
