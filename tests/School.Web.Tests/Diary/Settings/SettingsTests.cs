using System.Net;
using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.EntityFrameworkCore;
using School.Core.Diary.Time;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Settings;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Settings;

public sealed class SettingsTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_office_saves_the_rules_and_they_hold_at_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var read = await school.Office.GetAsync("/api/v1/diary/settings");
        var settings = JsonNode.Parse(await read.Content.ReadAsStringAsync())!.AsObject();
        settings["noticeToBookHours"] = 0;
        settings["gridMinutes"] = 10;
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", settings)).StatusCode);
        var saved = await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", settings, etag: read.Headers.ETag!.Tag);
        Assert.Equal(10, (await saved.JsonAsync()).GetProperty("gridMinutes").GetInt32());
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", settings, etag: read.Headers.ETag!.Tag)).StatusCode);
        await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 2, 16, 10));
    }

    [Fact]
    public async Task Settings_out_of_bounds_are_told_beside_each_field_and_nothing_is_saved()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var settings = JsonNode.Parse((await school.Office.GetJsonAsync("/api/v1/diary/settings")).GetRawText())!.AsObject();
        settings["gridMinutes"] = 7;
        settings["bufferMinutes"] = -1;
        settings["lessonMinutes"] = new JsonArray();
        var problem = await (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", settings, etag: "*")).JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(["bufferMinutes", "gridMinutes", "lessonMinutes"], problem.GetProperty("errors").EnumerateObject().Select(e => e.Name).Order());
        Assert.Equal(15, await school.Host.WithDbAsync(db => db.Set<DiarySettings>().Select(s => s.Rules.GridMinutes).SingleAsync()));
        settings.Remove("gridMinutes");
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", settings, etag: "*")).StatusCode);
    }

    // Ten minutes and seven hours: common practice, no source.
    [Fact]
    public async Task A_new_school_keeps_ten_minutes_and_teaches_seven_hours_and_one_that_is_there_keeps_its_own_numbers()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal((5, 480), await AgainAsync(false));
        Assert.Equal((10, 420), await AgainAsync(true));

        Task<(int, int)> AgainAsync(bool anew) => school.Host.WithDbAsync(async db =>
        {
            if (anew)
            {
                await db.Set<DiarySettings>().ExecuteDeleteAsync();
            }

            await new DiaryDefaults().AddMissingAsync(db, TestContext.Current.CancellationToken);
            await db.SaveChangesAsync();
            var rules = (await db.Set<DiarySettings>().AsNoTracking().SingleAsync()).Rules;
            return (rules.BufferMinutes, rules.DailyTeachingMinutes);
        });
    }

    [Fact]
    public async Task Settings_are_the_offices_alone()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.GetAsync("/api/v1/diary/settings")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Instructor.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", new { }, etag: "*")).StatusCode);
    }

    [Fact]
    public async Task Bank_holidays_are_there_from_the_start_and_the_list_is_the_schools_to_edit()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        // GOV.UK bank holidays, 2026: eight days in England and Wales.
        var listed = (await school.Pupil.GetJsonAsync("/api/v1/holidays?nation=england-and-wales&year=2026")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(
            ["2026-01-01", "2026-04-03", "2026-04-06", "2026-05-04", "2026-05-25", "2026-08-31", "2026-12-25", "2026-12-28"],
            listed.Select(h => h.Word("date")));
        Assert.Equal("Good Friday", listed[1].Word("name"));

        var holiday = new { nation = "england-and-wales", date = "2026-06-12", name = "Larkfield Fair" };
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Instructor.SendJsonAsync(HttpMethod.Post, "/api/v1/holidays", holiday)).StatusCode);
        var added = await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/holidays", holiday);
        await added.JsonAsync(HttpStatusCode.Created);
        var twice = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/holidays", holiday)).JsonAsync(HttpStatusCode.BadRequest);
        Assert.True(twice.GetProperty("errors").TryGetProperty("date", out _));
        var wrong = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/holidays", new { nation = "atlantis", date = "2026-06-12", name = "" })).JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(["name", "nation"], wrong.GetProperty("errors").EnumerateObject().Select(e => e.Name).Order());
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.SendJsonAsync(HttpMethod.Delete, added.Headers.Location!.ToString())).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.SendJsonAsync(HttpMethod.Delete, added.Headers.Location!.ToString())).StatusCode);
    }

    [Fact]
    public async Task A_holiday_that_was_struck_out_does_not_come_back()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.SendJsonAsync(HttpMethod.Delete, "/api/v1/holidays/scotland/2026-06-15");
        await school.Host.WithDbAsync(async db =>
        {
            await new DiaryDefaults().AddMissingAsync(db, CancellationToken.None);
            return await db.SaveChangesAsync();
        });
        Assert.False(await school.Host.WithDbAsync(db => db.Set<Holiday>().AnyAsync(h => h.Nation == "scotland" && h.Date == new NodaTime.LocalDate(2026, 6, 15))));
    }
}
