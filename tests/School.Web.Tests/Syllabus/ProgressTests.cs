using System.Net;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.Syllabus.Progress;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus;

public sealed class ProgressTests(TestPostgres postgres)
{
    [Fact]
    public async Task Levels_hours_and_practice_are_told_whoever_taught()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (first, second) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Alder Fenwick"));
        var pupil = await host.Data.PupilAsync();
        await host.TaughtAsync(pupil, first, 0, "Mirrors came by themselves.", 1, ("mirrors", SkillLevel.Helped), ("signals", SkillLevel.Introduced));
        await host.TaughtAsync(pupil, second, 50, "Lost a little over the winter.", 1, ("mirrors", SkillLevel.Introduced));
        await host.TaughtAsync(pupil, second, 52, "", 1);
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        await own.SendAsync(HttpMethod.Post, $"{Url(pupil.Id)[..^9]}/practice", new { on = "2026-03-01", minutes = 45, supervisor = "Fern" });

        await host.ShareForecastAsync(pupil);
        Assert.Equal(45, (await (await own.GetAsync($"{Url(pupil.Id)[..^9]}/readiness")).JsonAsync()).GetProperty("practiceMinutes").GetInt32());

        var progress = await (await own.GetAsync(Url(pupil.Id))).JsonAsync();
        Assert.Equal((180, 45, 27), (progress.GetProperty("minutesTaught").GetInt32(), progress.GetProperty("practiceMinutes").GetInt32(),
            progress.GetProperty("groups").EnumerateArray().Sum(g => g.GetProperty("skills").GetArrayLength())));
        var skills = progress.GetProperty("groups").EnumerateArray().SelectMany(g => g.GetProperty("skills").EnumerateArray()).ToDictionary(s => s.GetProperty("key").GetString()!);
        Assert.Equal("introduced", skills["mirrors"].GetProperty("level").GetString());
        Assert.Equal("2026-02-24", skills["mirrors"].GetProperty("lastOn").GetString());
        Assert.Equal(["Marigold Ashby", "Alder Fenwick"], skills["mirrors"].GetProperty("moves").EnumerateArray().Select(m => m.GetProperty("instructor").GetString()));
        Assert.Equal([60, 120], skills["mirrors"].GetProperty("moves").EnumerateArray().Select(m => m.GetProperty("minutesTaught").GetInt32()));
        // Signals were last touched on 5 January, 56 days before 2 March, and 42 is the usual limit; mirrors 6 days before.
        Assert.True(skills["signals"].GetProperty("stale").GetBoolean());
        Assert.False(skills["mirrors"].GetProperty("stale").GetBoolean());
        Assert.Equal(System.Text.Json.JsonValueKind.Null, skills["roundabouts"].GetProperty("level").ValueKind);
        var lessons = progress.GetProperty("lessons").EnumerateArray().ToList();
        Assert.Equal(("Marigold Ashby", "Roundabouts next.", 12.5m), (lessons[0].GetProperty("recordedBy").GetString(), lessons[0].GetProperty("aim").GetString(), lessons[0].GetProperty("miles").GetDecimal()));
        Assert.DoesNotContain("lorries", progress.GetRawText(), StringComparison.Ordinal);
        Assert.Equal(45, progress.GetProperty("practice")[0].GetProperty("minutes").GetInt32());
    }

    [Fact]
    public async Task The_same_as_a_table_for_those_who_ask_for_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.TaughtAsync(pupil, await host.Data.InstructorAsync(), 0, "=HYPERLINK(\"x\"), \"well\"\ndone", 1, ("mirrors", SkillLevel.Helped));
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var answer = await own.GetAsync($"{Url(pupil.Id)}?format=csv");
        Assert.Equal("text/csv", answer.Content.Headers.ContentType!.MediaType);
        var table = await answer.Content.ReadAsStringAsync();
        Assert.Equal(
            "Date,What,Minutes,Minutes taught so far,With,Recorded by,Skill,Level,Sentence,Aim,Reflection,Roads and conditions,Miles,Edition\r\n"
            + "2026-01-05,lesson,60,60,Marigold Ashby,Marigold Ashby,,,\"'=HYPERLINK(\"\"x\"\"), \"\"well\"\"\ndone\",Roundabouts next.,,Town,12.5,1\r\n"
            + "2026-01-05,level,,60,Marigold Ashby,Marigold Ashby,Mirrors – vision and use,Helped,,,,,,1\r\n",
            table);
        Assert.Equal(table, await (await own.SendAsync(HttpMethod.Get, Url(pupil.Id), null, ("Accept", "text/csv"))).Content.ReadAsStringAsync());
        Assert.Equal("application/json", (await own.SendAsync(HttpMethod.Get, Url(pupil.Id), null, ("Accept", "application/json, text/csv;q=0.5"))).Content.Headers.ContentType!.MediaType);
        Assert.Equal(["format"], await (await own.GetAsync($"{Url(pupil.Id)}?format=xls")).WrongFieldsAsync());
    }

    [Fact]
    public async Task Of_a_long_course_the_latest_is_shown_and_all_of_it_when_asked_for()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, instructor) = (await host.Data.PupilAsync(), await host.Data.InstructorAsync());
        for (var day = 0; day < 31; day++)
        {
            await host.TaughtAsync(pupil, instructor, day, $"Lesson {day} went well.", 1, ("mirrors", day % 2 == 0 ? SkillLevel.Helped : SkillLevel.Prompted));
        }

        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var (record, skill) = ($"/syllabus/progress/{pupil.Id}/record", $"/syllabus/progress/{pupil.Id}/skills/mirrors");
        var latest = await pages.GetStringAsync(record);
        Assert.Contains("Lesson 30 went well.", latest, StringComparison.Ordinal);
        Assert.DoesNotContain("Lesson 0 went well.", latest, StringComparison.Ordinal);
        Assert.Contains("in 31 lessons", latest, StringComparison.Ordinal);
        Assert.Contains("href=\"?all=true\"", latest, StringComparison.Ordinal);
        var whole = await pages.GetStringAsync($"{record}?all=true");
        Assert.Contains("Lesson 0 went well.", whole, StringComparison.Ordinal);
        Assert.DoesNotContain("?all=true", whole, StringComparison.Ordinal);
        Assert.Contains("All 31 levels", await pages.GetStringAsync(skill), StringComparison.Ordinal);
        Assert.DoesNotContain("All 31 levels", await pages.GetStringAsync($"{skill}?all=true"), StringComparison.Ordinal);
    }

    [Fact]
    public void The_picture_of_a_long_course_marks_the_changes()
    {
        LevelMove Move(int lesson, SkillLevel level) => new(Guid.Empty, new(new NodaTime.LocalDate(2026, 1, 1).PlusDays(lesson), level, lesson * 60), "", "Mirrors");
        var slow = new MovesPicture([.. Enumerable.Range(0, 300).Select(i => Move(i, i < 150 ? SkillLevel.Helped : SkillLevel.Independent))], 300 * 60);
        Assert.Equal([0, 150, 299], slow.Told.Select(move => move.MinutesTaught / 60));
        var restless = new MovesPicture([.. Enumerable.Range(0, 300).Select(i => Move(i, i % 2 == 0 ? SkillLevel.Helped : SkillLevel.Prompted))], 300 * 60);
        Assert.Equal((60, 299), (restless.Told.Count, restless.Told[^1].MinutesTaught / 60));
        Assert.Equal(40, new MovesPicture([.. Enumerable.Range(0, 40).Select(i => Move(i, SkillLevel.Helped))], 40 * 60).Points.Count());
    }

    [Fact]
    public async Task Records_keep_the_names_of_their_edition_and_retired_skills_stay_readable()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.TaughtAsync(pupil, await host.Data.InstructorAsync(), 0, "", 1, ("signals", SkillLevel.Helped), ("fuel-efficient-driving", SkillLevel.Introduced));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await office.PostFormAsync("/syllabus/skills/signals/change", ("Edition", "1"), ("Input.Name", "Signalling"), ("Input.Group", "Junctions, roundabouts and crossings"));
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/syllabus/arrange", "/syllabus/arrange?handler=Retire", ("Edition", "2"), ("key", "fuel-efficient-driving"))).StatusCode);

        var page = await (await office.GetAsync($"/syllabus/progress/{pupil.Id}")).TextAsync();
        Assert.Contains("Signalling", page, StringComparison.Ordinal);
        Assert.Contains("No longer in the syllabus", page, StringComparison.Ordinal);
        Assert.Contains("Fuel-efficient driving", page, StringComparison.Ordinal);
        Assert.Contains("then called <bdi>“Signals”</bdi>", await (await office.GetAsync($"/syllabus/progress/{pupil.Id}/skills/signals")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("no longer in the syllabus", await (await office.GetAsync($"/syllabus/progress/{pupil.Id}/skills/fuel-efficient-driving")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("<bdi>Signals</bdi>: <b>Helped</b>", await (await office.GetAsync($"/syllabus/progress/{pupil.Id}/record")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await office.GetAsync($"/syllabus/progress/{pupil.Id}/skills/juggling")).StatusCode);
    }

    [Fact]
    public async Task A_pupil_reads_their_own_pages_and_takes_the_record_along_and_nobody_elses()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, other) = (await host.Data.PupilAsync("Fern =2+3 Oakley"), await host.Data.PupilAsync("Bryony Vale"));
        await host.TaughtAsync(pupil, await host.Data.InstructorAsync(), 0, "Well done.", 1, ("mirrors", SkillLevel.Independent));
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Contains("Your progress", await (await own.GetAsync("/syllabus/progress")).TextAsync(), StringComparison.Ordinal);
        var csv = await own.GetAsync($"/syllabus/progress/{pupil.Id}/export.csv");
        Assert.Equal(("attachment", "progress-2026-03-02.csv"), (csv.Content.Headers.ContentDisposition!.DispositionType, csv.Content.Headers.ContentDisposition.FileName));
        Assert.Equal([0xEF, 0xBB, 0xBF], (await csv.Content.ReadAsByteArrayAsync())[..3]);
        Assert.Equal(60, (await (await own.GetAsync($"/syllabus/progress/{pupil.Id}/export.json")).JsonAsync()).GetProperty("minutesTaught").GetInt32());
        foreach (var page in new[] { $"/syllabus/progress/{pupil.Id}/export.xls", $"/syllabus/progress/{other.Id}", $"/syllabus/progress/{other.Id}/record", $"/syllabus/progress/{other.Id}/export.json", $"/syllabus/progress/{other.Id}/skills/mirrors", $"/syllabus/progress/{other.Id}/practice" })
        {
            Assert.Equal(HttpStatusCode.NotFound, (await own.GetAsync(page)).StatusCode);
        }

        Assert.DoesNotContain("lorries", await own.GetStringAsync($"/syllabus/progress/{pupil.Id}/record"), StringComparison.Ordinal);
        Assert.DoesNotContain("Demonstrate", await own.GetStringAsync("/syllabus/skills/mirrors"), StringComparison.Ordinal);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Equal("/pupils", (await office.GetAsync("/syllabus/progress")).Headers.Location!.OriginalString);
    }

    private static string Url(Guid pupil) => $"/api/v1/pupils/{pupil}/progress";
}
