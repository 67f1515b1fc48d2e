using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Day;

public sealed class BetterOrderTests(TestPostgres postgres)
{
    private const string Date = "2026-03-05";

    [Fact]
    public async Task Two_lessons_change_places_in_one_go_and_their_pupils_are_told()
    {
        await using var day = await ThursdayAsync();
        await day.GivesAsync(day.Near, "12:00", "13:00");
        await day.GivesAsync(day.Far, "10:30", "11:30");
        var answer = await day.School.Instructor.GetAsync(day.Url);
        var found = await answer.JsonAsync();
        var moves = found.GetProperty("moves").EnumerateArray().ToList();
        Assert.Equal(["Corin Vale", "Bryony Hale"], moves.Select(m => m.Word("pupilName")));
        Assert.All(moves, move => Assert.True(move.GetProperty("withinTheirTimes").GetBoolean()));
        var (before, after) = (found.GetProperty("today").GetProperty("drivingMinutes").GetInt32(), found.GetProperty("better").GetProperty("drivingMinutes").GetInt32());
        Assert.True(after < before);

        Assert.Equal(HttpStatusCode.PreconditionRequired, (await day.School.Instructor.SendJsonAsync(HttpMethod.Post, day.Url, new { })).StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await day.School.Instructor.SendJsonAsync(HttpMethod.Post, day.Url, new { }, etag: "\"7\"")).StatusCode);
        var done = await day.School.Instructor.SendJsonAsync(HttpMethod.Post, day.Url, new { }, etag: answer.Headers.ETag!.Tag);
        await done.JsonAsync();

        var route = await day.School.Instructor.GetJsonAsync($"/api/v1/instructors/{day.School.InstructorId}/day/{Date}");
        Assert.Equal(after, route.GetProperty("drivingMinutes").GetInt32());
        Assert.Equal(
            [("Tamsin Oakley", London(2026, 3, 5, 9)), ("Corin Vale", London(2026, 3, 5, 10) + Duration.FromMinutes(30)), ("Bryony Hale", London(2026, 3, 5, 12))],
            route.GetProperty("stops").EnumerateArray().Select(s => (s.Word("pupilName"), s.Moment("start"))));
        Assert.Equal(2, await day.School.Host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == LessonMail.Moved && m.Key.EndsWith(":pupil"))));
        Assert.Contains("for a better order of the day", (await day.School.Office.GetJsonAsync($"/api/v1/lessons/{moves[0].Id("lessonId")}/history")).ToString(), StringComparison.Ordinal);

        var nothing = await day.School.Instructor.GetAsync(day.Url);
        Assert.Equal(System.Text.Json.JsonValueKind.Null, (await nothing.JsonAsync()).GetProperty("better").ValueKind);
        Assert.Equal("nothing_better", await (await day.School.Instructor.SendJsonAsync(HttpMethod.Post, day.Url, new { }, etag: nothing.Headers.ETag!.Tag)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task A_day_that_changed_since_it_was_looked_at_is_not_touched()
    {
        await using var day = await ThursdayAsync();
        await day.GivesAsync(day.Near, "12:00", "18:00");
        var tag = (await day.School.Instructor.GetAsync(day.Url)).Headers.ETag!.Tag;
        await (await day.School.Office.MoveAsync(day.FarLesson, London(2026, 3, 5, 15))).JsonAsync();

        Assert.Equal("stale", await (await day.School.Instructor.SendJsonAsync(HttpMethod.Post, day.Url, new { }, etag: tag)).CodeAsync(HttpStatusCode.PreconditionFailed));
        Assert.Equal(London(2026, 3, 5, 10) + Duration.FromMinutes(30), (await day.School.Office.GetJsonAsync($"/api/v1/lessons/{day.NearLesson}")).Moment("start"));
    }

    [Fact]
    public async Task Applied_at_the_same_moment_through_two_nodes_the_lessons_move_once()
    {
        await using var day = await ThursdayAsync();
        await day.GivesAsync(day.Near, "12:00", "13:00");
        await day.GivesAsync(day.Far, "10:30", "11:30");
        await using var second = day.School.Host.SecondNode();
        using var other = await second.ApiAsAsync(await day.School.Host.Data.OfficeAsync("Wilfred Moss"));
        var tag = (await other.GetAsync(day.Url)).Headers.ETag!.Tag;

        var answers = await Task.WhenAll(Enumerable.Range(0, 6).Select(i =>
            (i % 2 == 0 ? day.School.Office : other).SendJsonAsync(HttpMethod.Post, day.Url, new { }, etag: tag)));

        Assert.Single(answers, answer => answer.StatusCode == HttpStatusCode.OK);
        Assert.All(answers, answer => Assert.True(answer.StatusCode is HttpStatusCode.OK or HttpStatusCode.PreconditionFailed));
        Assert.Equal(2, await day.School.Host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == LessonMail.Moved && m.Key.EndsWith(":pupil"))));
    }

    [Fact]
    public async Task Pupils_who_gave_no_times_are_moved_by_the_office_alone_and_only_once_they_agree()
    {
        await using var day = await ThursdayAsync();
        var none = await day.School.Office.GetJsonAsync(day.Url);
        Assert.Equal((0, System.Text.Json.JsonValueKind.Null), (none.GetProperty("movableLessons").GetInt32(), none.GetProperty("better").ValueKind));
        Assert.Equal("office_asks", await (await day.School.Instructor.GetAsync($"{day.Url}?askPupils=true")).CodeAsync(HttpStatusCode.UnprocessableEntity));

        var answer = await day.School.Office.GetAsync($"{day.Url}?askPupils=true");
        Assert.Contains((await answer.JsonAsync()).GetProperty("moves").EnumerateArray(), move => !move.GetProperty("withinTheirTimes").GetBoolean());
        var tag = answer.Headers.ETag!.Tag;
        Assert.Equal("pupils_not_asked", await (await day.School.Office.SendJsonAsync(HttpMethod.Post, day.Url, new { askPupils = true }, etag: tag)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await day.School.Office.SendJsonAsync(HttpMethod.Post, day.Url, new { askPupils = true, asked = true }, etag: tag)).JsonAsync();
    }

    [Fact]
    public async Task A_colleagues_day_and_a_day_that_has_passed_are_refused()
    {
        await using var day = await ThursdayAsync();
        using var colleague = await day.School.Host.ApiAsAsync(await day.School.Host.Data.PersonAsync(await day.School.Host.Data.InstructorAsync("Basil Thornby")));
        Assert.Equal(HttpStatusCode.NotFound, (await colleague.GetAsync(day.Url)).StatusCode);
        var past = day.Url.Replace(Date, "2026-03-01", StringComparison.Ordinal);
        Assert.Equal("in_the_past", await (await day.School.Office.GetAsync(past)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task The_page_shows_both_days_side_by_side_and_moves_the_lessons()
    {
        await using var day = await ThursdayAsync();
        var host = day.School.Host;
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync("Wilfred Moss"));
        var page = $"/diary/better-order?date={Date}&instructorId={day.School.InstructorId}";
        Assert.Contains("No pupil of a lesson ahead has said when they can come", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);

        await day.GivesAsync(day.Near, "12:00", "18:00");
        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("less driving.", shown, StringComparison.Ordinal);
        Assert.Contains("Told by e-mail: Bryony Hale.", shown, StringComparison.Ordinal);
        var seen = System.Text.RegularExpressions.Regex.Match(shown, "name=\"Seen\" value=\"(\\d+)\"").Groups[1].Value;

        var without = await browser.PostFormAsync(page);
        Assert.Contains("Look at it again", await without.TextAsync(), StringComparison.Ordinal);
        var done = await browser.PostFormAsync(page, ("Seen", seen));
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        Assert.Contains("1 lesson moved. The pupils are told.", await (await browser.GetAsync(done.Headers.Location)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("No other order of these lessons means less driving.", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task No_drive_from_or_to_a_place_that_is_still_to_be_found_is_told_nor_what_it_saves()
    {
        await using var day = await ThursdayAsync();
        var host = day.School.Host;
        await day.GivesAsync(day.Near, "12:00", "18:00");
        var known = await day.School.Office.GetJsonAsync(day.Url);
        Assert.Equal(0, known.GetProperty("better").GetProperty("drivesNotTold").GetInt32());
        await host.WithDbAsync(db => db.Set<Web.Modules.Diary.Lessons.Lesson>().Where(l => l.Id == day.NearLesson).ExecuteUpdateAsync(set => set
            .SetProperty(l => l.PickUp.Certainty, Web.Modules.School.Contracts.PlaceCertainty.ToBeFound).SetProperty(l => l.DropOff.Certainty, Web.Modules.School.Contracts.PlaceCertainty.ToBeFound)));

        var found = await day.School.Office.GetJsonAsync(day.Url);
        var (today, better) = (found.GetProperty("today"), found.GetProperty("better"));
        Assert.Equal((2, 2), (today.GetProperty("drivesNotTold").GetInt32(), better.GetProperty("drivesNotTold").GetInt32()));
        Assert.Equal(
            [false, true, true],
            today.GetProperty("stops").EnumerateArray().Select(stop => stop.GetProperty("legMinutes").ValueKind == System.Text.Json.JsonValueKind.Null));
        Assert.True(today.GetProperty("drivingMinutes").GetInt32() < known.GetProperty("today").GetProperty("drivingMinutes").GetInt32());
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync("Wilfred Moss"));
        var shown = await (await browser.GetAsync($"/diary/better-order?date={Date}&instructorId={day.School.InstructorId}")).TextAsync();
        Assert.Contains("How much is not told, since a place is still to be found", shown, StringComparison.Ordinal);
        Assert.Contains("not told: place to be found", shown, StringComparison.Ordinal);
        Assert.Contains("without 2 drives from or to a place that is still to be found", shown, StringComparison.Ordinal);
    }

    /// <summary>Thursday: far from base at 9:00, near it at 10:30, and far again at noon.</summary>
    private async Task<Thursday> ThursdayAsync()
    {
        var school = await SmallSchool.StartAsync(postgres);
        var data = school.Host.Data;
        var far = TestData.PlaceAt(30, label: "Weir Road");
        var (near, other) = (await data.PupilAsync("Bryony Hale", TestData.PlaceAt(2)), await data.PupilAsync("Corin Vale", far));
        await school.Host.WithDbAsync(db => db.Set<Web.Modules.Pupils.Pupil>().Where(p => p.Id == school.PupilId)
            .ExecuteUpdateAsync(set => set.SetProperty(p => p.PickUp.Latitude, far.Latitude).SetProperty(p => p.PickUp.Longitude, far.Longitude)));
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 9));
        var nearLesson = await school.Office.BookedAsync(near.Id, school.InstructorId, London(2026, 3, 5, 10) + Duration.FromMinutes(30));
        var farLesson = await school.Office.BookedAsync(other.Id, school.InstructorId, London(2026, 3, 5, 12));
        return new(school, near.Id, other.Id, nearLesson.Id(), farLesson.Id());
    }

    private sealed record Thursday(SmallSchool School, Guid Near, Guid Far, Guid NearLesson, Guid FarLesson) : IAsyncDisposable
    {
        public string Url => $"/api/v1/instructors/{School.InstructorId}/day/{Date}/better-order";

        public async Task GivesAsync(Guid pupil, string from, string to) => await (await School.Office.SendJsonAsync(
            HttpMethod.Put, $"/api/v1/pupils/{pupil}/availability", new { times = new[] { new { day = "thursday", from, to } } }, etag: "*")).JsonAsync();

        public ValueTask DisposeAsync() => School.DisposeAsync();
    }
}
