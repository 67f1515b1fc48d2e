using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.Covers;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Places;

/// <summary>A place that is still to be found is reckoned with the middle of its district, and nothing is told from there.</summary>
public sealed partial class PlacesToBeFoundTests(TestPostgres postgres)
{
    [Fact]
    public async Task Cover_tells_no_added_driving_while_a_place_of_those_days_is_to_be_found()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        Assert.Equal(JsonValueKind.Number, Added(await school.PlanAsync()));
        await OpenAsync(school.Host, school.AtTen);

        var plan = await school.PlanAsync();
        Assert.Equal(JsonValueKind.Null, Added(plan));
        Assert.Equal(school.Bram.Id, plan.GetProperty("lines").EnumerateArray().Single(line => line.Id("lessonId") == school.AtTen).GetProperty("proposed").Id("instructorId"));
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var page = await (await pages.GetAsync($"/diary/covers/{plan.Id()}")).TextAsync();
        Assert.Contains("is not told, since a place of those days is still to be found", page, StringComparison.Ordinal);
        Assert.DoesNotContain("more driving in all", page, StringComparison.Ordinal);

        static JsonValueKind Added(JsonElement plan) => plan.GetProperty("cost").GetProperty("addedDrivingMinutes").ValueKind;
    }

    [Fact]
    public async Task Running_late_a_lesson_at_a_place_to_be_found_is_as_late_as_what_goes_before_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        var person = await host.Data.PersonAsync(day.Marigold);
        using var api = await host.ApiAsAsync(person);
        var url = $"/api/v1/instructors/{day.Marigold.Id}/day/2026-03-02/late";
        await OpenAsync(host, day.Tight.Id);

        var answer = await (await api.SendJsonAsync(HttpMethod.Post, url, new { minutes = 20 })).JsonAsync();
        var lessons = answer.GetProperty("lessons").EnumerateArray().ToList();
        Assert.Equal([(20, false), (20, false)], lessons.Select(l => (l.GetProperty("lateMinutes").GetInt32(), l.GetProperty("driveTold").GetBoolean())));
        using var pages = await host.PagesAsAsync(person);
        Assert.Contains("as late as before: a place is still to be found", await (await pages.GetAsync("/diary/running-late?minutes=20")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Booking_says_that_times_are_reckoned_from_the_middle_of_the_district_and_recommends_none()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var (book, check) = ($"/diary/book?pupil={school.PupilId}&with={school.InstructorId}&from=2026-03-02", $"/diary/book/check?pupil={school.PupilId}&start=2026-03-05T10:00:00Z&minutes=60&with={school.InstructorId}");
        const string Words = "is, is still to be found. Lessons are reckoned from the middle of LK1, and no drive is told.";
        Assert.All(new[] { await TextAsync(book), await TextAsync(check) }, page => Assert.DoesNotContain(Words, page, StringComparison.Ordinal));

        await school.Host.WithDbAsync(db => db.Set<Modules.Pupils.Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set => set
            .SetProperty(p => p.PickUp.Certainty, PlaceCertainty.ToBeFound).SetProperty(p => p.PickUp.Postcode, "LK1 2AB")));
        var (times, checking) = (await TextAsync(book), await TextAsync(check));
        Assert.All(new[] { times, checking }, page => Assert.Contains(Words, page, StringComparison.Ordinal));
        Assert.DoesNotContain("fits in with other lessons", times, StringComparison.Ordinal);

        async Task<string> TextAsync(string url) => await (await office.GetAsync(url)).TextAsync();
    }

    [Fact]
    public async Task A_calendar_has_no_position_from_the_middle_of_a_district()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10))).Id();
        var feed = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/feeds", new { instructorId = school.InstructorId, detail = "full" })).JsonAsync(HttpStatusCode.Created);
        Assert.Contains("GEO:", await FeedAsync(), StringComparison.Ordinal);
        await OpenAsync(school.Host, lesson);
        // The place was left open when it was booked; here the lesson is told anew.
        await (await school.Office.MoveAsync(lesson, London(2026, 3, 5, 11))).JsonAsync();
        var text = await FeedAsync();
        Assert.Contains("SUMMARY:Lesson", text, StringComparison.Ordinal);
        Assert.DoesNotContain("GEO:", text, StringComparison.Ordinal);

        async Task<string> FeedAsync() => await (await school.Office.GetAsync(new Uri(feed.Word("url")!).PathAndQuery)).Content.ReadAsStringAsync();
    }

    [Fact]
    public async Task Nobody_is_sent_to_the_middle_of_a_district_before_a_test_or_a_lesson()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var test = (await school.Office.EnteredAsync(school.PupilId, London(2026, 3, 5, 14), ("instructorId", school.InstructorId))).Id();
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 9))).Id();
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var url = $"/diary/day?instructorId={school.InstructorId}&date=2026-03-05";
        Assert.Equal(3, Geo().Count(await (await pages.GetAsync(url)).TextAsync()));

        await school.Host.WithDbAsync(db => db.Set<TestDay>().Where(t => t.Id == test).ExecuteUpdateAsync(set => set.SetProperty(t => t.PickUp.Certainty, PlaceCertainty.ToBeFound)));
        await OpenAsync(school.Host, lesson);
        var text = await (await pages.GetAsync(url)).TextAsync();
        Assert.Equal(1, Geo().Count(text));
        Assert.Contains("Navigate to the centre", text, StringComparison.Ordinal);
        // Nor is it told how long the drive of the test takes from there.
        await school.Host.WithDbAsync(db => db.Set<TestDay>().Where(t => t.Id == test).ExecuteUpdateAsync(set => set.SetProperty(t => t.PickUp.Latitude, 53)));
        var warnings = (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{test}")).Warnings();
        Assert.Contains("place_to_find", warnings);
        Assert.DoesNotContain("lead_too_short", warnings);
        await school.Host.WithDbAsync(db => db.Set<TestDay>().Where(t => t.Id == test).ExecuteUpdateAsync(set => set.SetProperty(t => t.PickUp.Certainty, PlaceCertainty.Exact)));
        Assert.Contains("lead_too_short", (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{test}")).Warnings());
        var brief = await (await pages.GetAsync($"/syllabus/lessons/{lesson}/brief")).TextAsync();
        Assert.DoesNotContain("geo:", brief, StringComparison.Ordinal);

        await school.Host.WithDbAsync(db => db.Set<Modules.Pupils.Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.PickUp.Certainty, PlaceCertainty.ToBeFound)));
        Assert.DoesNotContain("geo:", await (await pages.GetAsync($"/pupils/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Attention_names_any_lesson_ahead_whose_pick_up_or_drop_off_is_to_be_found()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var (pickUp, dropOff, fine) = (
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 9)),
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 9)),
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 7, 9)));
        Assert.DoesNotContain("lesson_place_to_find", (await school.Office.GetJsonAsync("/api/v1/attention")).GetRawText(), StringComparison.Ordinal);
        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"""
            UPDATE diary.lessons SET pick_up_certainty = CASE WHEN id = {pickUp.Id()} THEN 'ToBeFound' ELSE pick_up_certainty END,
                drop_off_certainty = CASE WHEN id = {dropOff.Id()} THEN 'ToBeFound' ELSE drop_off_certainty END, drop_off_label = 'Weir Road'
            """));

        var told = (await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray().Where(item => item.Word("kind") == "lesson_place_to_find").ToList();
        Assert.Equal([$"/diary/lessons/{pickUp.Id()}", $"/diary/lessons/{dropOff.Id()}"], told.Select(Page));
        Assert.Contains("Weir Road", told[1].Word("sentence"), StringComparison.Ordinal);
        Assert.DoesNotContain(fine.Id().ToString(), told.Select(Page).Aggregate("", string.Concat), StringComparison.Ordinal);
        await (await school.Office.CancelAsync(pickUp.Id())).JsonAsync();
        school.Host.Clock.Reset(London(2026, 3, 6, 12));
        Assert.DoesNotContain("lesson_place_to_find", (await school.Office.GetJsonAsync("/api/v1/attention")).GetRawText(), StringComparison.Ordinal);

        static string Page(JsonElement item) => LessonPage().Match(item.GetRawText()).Value;
    }

    private static Task<int> OpenAsync(SchoolHost host, Guid lesson) => host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == lesson).ExecuteUpdateAsync(set => set
        .SetProperty(l => l.PickUp.Certainty, PlaceCertainty.ToBeFound).SetProperty(l => l.DropOff.Certainty, PlaceCertainty.ToBeFound)));

    [GeneratedRegex("\"geo:")]
    private static partial Regex Geo();

    [GeneratedRegex("/diary/lessons/[0-9a-f-]{36}")]
    private static partial Regex LessonPage();
}
