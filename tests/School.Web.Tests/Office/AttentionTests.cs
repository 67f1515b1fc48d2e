using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Office;

/// <summary>What needs attention: one item a cause, the most urgent first.</summary>
public sealed partial class AttentionTests(TestPostgres postgres)
{
    [Fact]
    public async Task Four_lessons_in_one_time_off_are_one_item_with_its_cure_until_the_time_off_goes()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        foreach (var (day, hour) in ((int, int)[])[(3, 10), (4, 10), (5, 10), (5, 14)])
        {
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, day, hour));
        }

        Assert.Empty((await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray());
        var off = new Web.Modules.Diary.Hours.TimeOffRow { InstructorId = school.InstructorId, StartsAt = London(2026, 3, 3, 8), EndsAt = London(2026, 3, 5, 20), Reason = "Flu" };
        await school.Host.AddAsync(off);
        var item = Assert.Single((await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray());
        Assert.Equal((4, "today", "2026-03-03"), (item.GetProperty("count").GetInt32(), item.Word("urgency"), item.Word("at")));
        Assert.Contains("is off (Flu): 4 booked lessons cannot take place, the first of them Tuesday 3 March, 10:00", item.Word("sentence"), StringComparison.Ordinal);
        Assert.Equal(["cure", "open"], item.GetProperty("acts").EnumerateArray().Select(act => act.Word("code")));
        Assert.StartsWith($"/diary/covers?instructorId={school.InstructorId}", item.GetProperty("acts")[0].Word("page"), StringComparison.Ordinal);

        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = await (await office.GetAsync("/diary/attention")).TextAsync();
        Assert.Contains("<summary>All 4</summary>", page, StringComparison.Ordinal);
        Assert.Equal(4, LessonLink().Count(page));

        // Another time off is another cause.
        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"UPDATE diary.time_off SET ends_at = {London(2026, 3, 4, 8)} WHERE id = {off.Id}"));
        await school.Host.AddAsync(new Web.Modules.Diary.Hours.TimeOffRow { InstructorId = school.InstructorId, StartsAt = London(2026, 3, 5, 8), EndsAt = London(2026, 3, 5, 20), Reason = "Course" });
        Assert.Equal([1, 2], (await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray().Select(one => one.GetProperty("count").GetInt32()));

        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"DELETE FROM diary.time_off"));
        Assert.Empty((await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray());
    }

    [Fact]
    public async Task What_bites_sooner_stands_first_and_a_lesson_off_today_is_now()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 10));
        await school.Host.AddAsync(new Web.Modules.Diary.Hours.TimeOffRow { InstructorId = school.InstructorId, StartsAt = London(2026, 3, 12, 8), EndsAt = London(2026, 3, 12, 20), Reason = "" });
        async Task<string?> UrgencyAsync() => (await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray()
            .Single(item => item.Word("kind") == "impossible_lesson").Word("urgency");
        Assert.Equal("soon", await UrgencyAsync());
        school.Host.Clock.Reset(London(2026, 3, 10, 8));
        Assert.Equal("today", await UrgencyAsync());
        school.Host.Clock.Reset(London(2026, 3, 12, 8));
        Assert.Equal("now", await UrgencyAsync());
    }

    [Fact]
    public async Task Nothing_is_said_to_be_in_order_that_nobody_entered()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync("/diary/attention")).TextAsync();
        Assert.DoesNotContain("Papers are in date", page, StringComparison.Ordinal);
        Assert.Contains("A paper without a date is not watched", page, StringComparison.Ordinal);
    }

    [GeneratedRegex("href=\"/diary/lessons/[0-9a-f-]{36}\"")]
    private static partial Regex LessonLink();
}
