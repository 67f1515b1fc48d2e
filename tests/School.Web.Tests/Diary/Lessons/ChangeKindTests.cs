using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Platform.Operations;
using School.Web.Tests.Diary.Settings;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>A booked lesson becomes another kind at its own time, by the checks of a booking of that kind.</summary>
public sealed class ChangeKindTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task It_has_the_minutes_and_breaks_of_that_kind_and_everybody_is_told()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var start = London(2026, 3, 12, 10);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, start)).Id();
        var changed = await (await ChangeAsync(school.Office, id, "intensive", 240)).JsonAsync();
        Assert.Equal(
            ("intensive", 240, start, London(2026, 3, 12, 14, 15), 1),
            (changed.Word("kind"), changed.GetProperty("minutes").GetInt32(), changed.Moment("start"), changed.Moment("end"), changed.GetProperty("sequence").GetInt32()));
        Assert.Equal(London(2026, 3, 12, 12), changed.GetProperty("breaks")[0].Moment("start"));
        Assert.Equal(JsonValueKind.Null, changed.GetProperty("charge").ValueKind);
        var history = (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items");
        Assert.Equal(("becameAnother", "Changed from Lesson, 60 minutes, to Intensive lesson, 240 minutes."), (history[1].Word("kind"), history[1].Word("words")));
        var letters = await school.MessagesAsync(id, "lesson_became");
        Assert.Equal(["Marigold Ashby", "Tamsin Oakley"], letters.Select(letter => letter.ToName).Order(StringComparer.Ordinal));
        Assert.All(letters, letter =>
        {
            Assert.Contains("Lesson, Thursday 12 March, 10:00 to 11:00", letter.Text, StringComparison.Ordinal);
            Assert.Contains("Intensive lesson", letter.Subject, StringComparison.Ordinal);
            Assert.Contains("12:00 to 12:15", letter.Text, StringComparison.Ordinal);
        });
        // The reminder speaks of the lesson as it is now.
        var reminders = await school.Host.WithDbAsync(db => db.Set<Message>().Where(m => m.Kind == "lesson_reminder" && m.AboutId == id).Select(m => m.State).ToListAsync());
        Assert.Single(reminders, MessageState.Waiting);

        // The same once more changes nothing and tells nobody.
        Assert.Equal(1, (await (await ChangeAsync(school.Office, id, "intensive", 240)).JsonAsync()).GetProperty("sequence").GetInt32());
        Assert.Equal(2, (await school.MessagesAsync(id, "lesson_became")).Count);
        Assert.Equal(2, (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task Its_length_stays_where_the_kind_is_given_in_it_and_is_the_kinds_first_else()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("mock", "Mock test", [75, 90]), KindsTests.Kind("assessment", "Assessment", [60]));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal(75, (await (await ChangeAsync(school.Office, id, "mock")).JsonAsync()).GetProperty("minutes").GetInt32());
        Assert.Equal(60, (await (await ChangeAsync(school.Office, id, "assessment")).JsonAsync()).GetProperty("minutes").GetInt32());
        Assert.Equal(60, (await (await ChangeAsync(school.Office, id, "refresher")).JsonAsync()).GetProperty("minutes").GetInt32());
    }

    [Theory]
    [InlineData("motorway", "motorway_needs_adi", HttpStatusCode.UnprocessableEntity)]
    [InlineData("testDay", "no_test_that_day", HttpStatusCode.UnprocessableEntity)]
    [InlineData("refresher", "kind_not_offered", HttpStatusCode.UnprocessableEntity)]
    public async Task What_such_a_lesson_could_not_be_booked_for_is_refused_and_nothing_changes(string kind, string code, HttpStatusCode status)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, Core.Diary.RegistrationKind.Trainee).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("refresher", "Refresher", offered: false));
        var before = await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
        Assert.Equal(code, await (await ChangeAsync(school.Office, before.Id(), kind)).CodeAsync(status));
        Assert.Equal(before.GetRawText(), (await school.Office.GetJsonAsync($"/api/v1/lessons/{before.Id()}")).GetRawText());
        Assert.Empty(await school.MessagesAsync(before.Id(), "lesson_became"));
    }

    [Fact]
    public async Task Longer_it_must_fit_its_day_and_its_week_and_on_a_motorway_it_goes_into_a_car_with_dual_controls()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Idris Bell")).Id, school.InstructorId, London(2026, 3, 5, 11, 30));
        Assert.Equal("instructor_busy", await (await ChangeAsync(school.Office, id, "mock", 120)).CodeAsync(HttpStatusCode.Conflict));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set => set.SetProperty(p => p.WeeklyMinutes, 70).SetProperty(p => p.NeedsDualControls, false)));
        Assert.Equal("weekly_limit", await (await ChangeAsync(school.Office, id, "mock", 75)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(HttpStatusCode.BadRequest, (await ChangeAsync(school.Office, id, "mock", 481)).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await ChangeAsync(school.Office, id, "party")).StatusCode);

        await school.Host.WithDbAsync(db => db.Set<Car>().ExecuteUpdateAsync(set => set.SetProperty(c => c.DualControls, false)));
        Assert.Equal("motorway_needs_dual_controls", await (await ChangeAsync(school.Office, id, "motorway")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var dual = await school.Host.Data.CarAsync(school.InstructorId);
        Assert.Equal(dual.Id, (await (await ChangeAsync(school.Office, id, "motorway")).JsonAsync()).Id("carId"));
        var history = (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items");
        Assert.Equal("Changed from Lesson, 60 minutes, to Motorway lesson, 60 minutes, in another car.", history[1].Word("words"));
    }

    [Fact]
    public async Task Longer_inside_the_notice_the_pupil_is_asked_first_and_the_history_says_that_they_agreed()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        // A minute before the last free moment nobody need be asked, and shorter never.
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(48));
        await (await ChangeAsync(school.Office, id, "standard", 90)).JsonAsync();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(47));
        await (await ChangeAsync(school.Office, id, "standard", 60)).JsonAsync();
        await (await ChangeAsync(school.Office, id, "mock", 60)).JsonAsync();

        var page = $"/diary/lessons/{id}/kind";
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Contains("A longer lesson costs them more", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        var refused = await ChangeAsync(school.Office, id, "mock", 90);
        Assert.Equal("pupils_not_asked", await refused.CodeAsync(HttpStatusCode.UnprocessableEntity));
        var told = await (await office.PostFormAsync(page, ("Kind", "Mock"), ("Minutes", "90"))).TextAsync();
        Assert.Contains("Ask them first, then confirm that they agree", told, StringComparison.Ordinal);
        Assert.Contains("Agreed with the pupil", told, StringComparison.Ordinal);
        Assert.Equal(60, (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}")).GetProperty("minutes").GetInt32());

        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page, ("Kind", "Mock"), ("Minutes", "90"), ("Asked", "true"))).StatusCode);
        var history = (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items").EnumerateArray().Select(line => line.Word("words")).ToList();
        Assert.EndsWith("90 minutes. Agreed with the pupil.", history[^1], StringComparison.Ordinal);
        Assert.DoesNotContain("Agreed", history[^2], StringComparison.Ordinal);
    }

    [Fact]
    public async Task It_stays_in_its_own_car_where_that_will_do()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        // The car of the lesson before would be taken for one that is booked.
        var before = await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Idris Bell")).Id, school.InstructorId, London(2026, 3, 5, 8, 30));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var own = await school.Host.Data.CarAsync(school.InstructorId);
        await school.Host.WithDbAsync(db => db.Set<Modules.Diary.Lessons.Lesson>().Where(l => l.Id == id).ExecuteUpdateAsync(set => set.SetProperty(l => l.CarId, own.Id)));
        Assert.NotEqual(own.Id, before.Id("carId"));

        Assert.Equal(own.Id, (await (await ChangeAsync(school.Office, id, "mock", 90)).JsonAsync()).Id("carId"));
        await school.Host.WithDbAsync(db => db.Set<Car>().Where(c => c.Id == own.Id).ExecuteUpdateAsync(set => set.SetProperty(c => c.DualControls, false)));
        Assert.Equal(before.Id("carId"), (await (await ChangeAsync(school.Office, id, "motorway", 90)).JsonAsync()).Id("carId"));
    }

    [Fact]
    public async Task It_is_for_staff_and_for_lessons_that_have_not_begun()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
        Assert.Equal(HttpStatusCode.Forbidden, (await ChangeAsync(school.Pupil, lesson.Id(), "mock")).StatusCode);
        using var bram = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Bram Holt")));
        Assert.Equal(HttpStatusCode.NotFound, (await ChangeAsync(bram, lesson.Id(), "mock")).StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await ChangeAsync(school.Instructor, lesson.Id(), "mock", etag: "\"7\"")).StatusCode);
        Assert.Equal("mock", (await (await ChangeAsync(school.Instructor, lesson.Id(), "mock")).JsonAsync()).Word("kind"));
        // Who did it gets no letter about it.
        Assert.Equal(["Tamsin Oakley"], (await school.MessagesAsync(lesson.Id(), "lesson_became")).Select(letter => letter.ToName));

        school.Host.Clock.Reset(Thursday10);
        Assert.Equal("lesson_begun", await (await ChangeAsync(school.Office, lesson.Id(), "assessment")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await school.Office.CancelAsync(lesson.Id(), "weather")).JsonAsync();
        Assert.Equal("lesson_closed", await (await ChangeAsync(school.Office, lesson.Id(), "assessment")).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task The_page_offers_the_kinds_that_are_given()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var page = $"/diary/lessons/{id}/kind";
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Contains(page, await (await office.GetAsync($"/diary/lessons/{id}")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("class=\"problems\"", await (await office.PostFormAsync(page, ("Kind", "TestDay"))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page, ("Kind", "Mock"), ("Minutes", "90"))).StatusCode);
        Assert.Contains("Mock test", await (await office.GetAsync($"/diary/lessons/{id}")).TextAsync(), StringComparison.Ordinal);
        using var pupil = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId != null)));
        Assert.Contains("not-allowed", (await pupil.GetAsync(page)).Headers.Location!.ToString(), StringComparison.Ordinal);
        Assert.DoesNotContain(page, await (await pupil.GetAsync($"/diary/lessons/{id}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_lesson_of_a_kind_that_is_given_no_longer_stays_that_and_may_be_longer()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("refresher", "Refresher", [60, 120]));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await (await ChangeAsync(school.Office, id, "refresher", 60)).JsonAsync();
        await (await KindsTests.SaveAsync(school.Office, stay: true, KindsTests.Kind("refresher", "Refresher", [60, 120], offered: false))).JsonAsync();
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Contains("Refresher", await (await office.GetAsync($"/diary/lessons/{id}/kind")).TextAsync(), StringComparison.Ordinal);
        var longer = await (await ChangeAsync(school.Office, id, "refresher", 120)).JsonAsync();
        Assert.Equal(("refresher", 120), (longer.Word("kind"), longer.GetProperty("minutes").GetInt32()));
    }

    [Fact]
    public async Task What_comes_free_when_it_is_shorter_is_offered()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await (await ChangeAsync(school.Office, id, "intensive", 240)).JsonAsync();
        Assert.Empty(await FreedAsync());
        await (await ChangeAsync(school.Office, id, "standard", 60)).JsonAsync();
        var freed = await FreedAsync();
        Assert.Equal(Thursday10 + Duration.FromHours(1), freed[0].StartsAt);
        Assert.All(freed, time => Assert.True(time.EndsAt <= Thursday10 + Duration.FromMinutes(255)));

        Task<List<FreedSlot>> FreedAsync() => school.Host.WithDbAsync(db => db.Set<FreedSlot>().OrderBy(f => f.StartsAt).ToListAsync());
    }

    [Fact]
    public async Task The_diary_holds_together_after_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await (await ChangeAsync(school.Office, id, "intensive", 240)).JsonAsync();
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Database.SqlQuery<int>(
            $"SELECT count(*)::int AS \"Value\" FROM diary.occupied WHERE upper(during) = timestamptz '2026-03-05 14:15+00'").SingleAsync()));
        await using var said = new StringWriter();
        Assert.True(await CheckCommand.RunAsync(school.Host.Services, school.Host.ServiceConnectionString, said, default) == 0, said.ToString());
    }

    private static Task<HttpResponseMessage> ChangeAsync(HttpClient api, Guid lesson, string kind, int? minutes = null, string? etag = null) =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{lesson}/kind", new { kind, minutes }, etag: etag);
}
