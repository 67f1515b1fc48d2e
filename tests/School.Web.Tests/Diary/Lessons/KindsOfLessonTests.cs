using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary.Settings;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

public sealed class KindsOfLessonTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task A_lesson_is_of_the_kind_it_was_booked_as_and_says_so_everywhere()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal("standard", (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 4, 10))).Word("kind"));
        var lesson = await (await BookAsync(school.Office, school, "assessment", Thursday10)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("assessment", lesson.Word("kind"));
        var listed = (await school.Pupil.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray().Select(l => l.Word("kind"));
        Assert.Equal(["standard", "assessment"], listed);
        var history = await school.Office.GetJsonAsync($"/api/v1/lessons/{lesson.Id()}/history");
        Assert.Equal("Booked for Thu 5 Mar 10:00, 60 minutes. Assessment.", history.GetProperty("items")[0].Word("words"));
        var letter = (await school.MessagesAsync(lesson.Id(), "lesson_booked"))[^1];
        Assert.Contains("Assessment", letter.Text, StringComparison.Ordinal);

        var feed = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/feeds", new { pupilId = school.PupilId, detail = "full" })).JsonAsync(HttpStatusCode.Created);
        Assert.Contains("SUMMARY:Assessment with Marigold", await FeedAsync(), StringComparison.Ordinal);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("assessment", "First drive"));
        Assert.Contains("SUMMARY:First drive with Marigold", await FeedAsync(), StringComparison.Ordinal);

        var stop = (await school.Instructor.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-03-05")).GetProperty("stops")[0];
        Assert.Equal(("lesson", "assessment"), (stop.Word("kind"), stop.Word("lessonKind")));
        using var pupil = await school.Host.PagesAsAsync(await PersonAsync(school, Hat.Pupil));
        foreach (var page in new[] { $"/diary/lessons/{lesson.Id()}", "/diary/lessons" })
        {
            Assert.Contains("First drive", await (await pupil.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        }

        using var instructor = await school.Host.PagesAsAsync(await PersonAsync(school, Hat.Instructor));
        Assert.Contains("first drive", await (await instructor.GetAsync("/diary/day?date=2026-03-05")).TextAsync(), StringComparison.Ordinal);

        async Task<string> FeedAsync() => await (await school.Pupil.GetAsync(new Uri(feed.Word("url")!).PathAndQuery)).Content.ReadAsStringAsync();
    }

    [Fact]
    public async Task Pupils_book_what_the_school_lets_them_book_in_its_lengths()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var search = $"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-05&kind=assessment";
        Assert.Equal("kind_booked_by_school", await (await BookAsync(school.Pupil, school, "assessment", Thursday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("kind_booked_by_school", await (await school.Pupil.GetAsync(search)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync(search + "x")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await BookAsync(school.Office, school, "holiday", Thursday10)).StatusCode);

        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("assessment", "Assessment", [75], pupilsBook: true));
        var offered = (await school.Pupil.GetJsonAsync(search)).GetProperty("items").EnumerateArray().ToList();
        Assert.Contains(offered, slot => slot.Moment("start") == Thursday10 && slot.Moment("end") == Thursday10 + Duration.FromMinutes(75));
        Assert.Equal("length_not_offered", await (await BookAsync(school.Pupil, school, "assessment", Thursday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("length_not_offered", await (await school.Pupil.BookAsync(school.PupilId, school.InstructorId, Thursday10, 75)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("assessment", (await (await BookAsync(school.Pupil, school, "assessment", Thursday10, 75)).JsonAsync(HttpStatusCode.Created)).Word("kind"));
        // Staff book other lengths too.
        await (await BookAsync(school.Office, school, "assessment", London(2026, 3, 6, 10), 60)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal(2, await school.Host.WithDbAsync(db => db.Set<Modules.Diary.Lessons.Lesson>().CountAsync()));
    }

    // The Highway Code, rule 253.
    [Theory]
    [InlineData(RegistrationKind.Trainee, true, "motorway_needs_adi")]
    [InlineData(RegistrationKind.Approved, false, "motorway_needs_dual_controls")]
    public async Task A_motorway_lesson_against_the_rule_is_neither_offered_nor_booked_nor_moved_into(RegistrationKind registration, bool dualControls, string code)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.NeedsDualControls, false)));
        var booked = await (await BookAsync(school.Office, school, "motorway", Thursday10)).JsonAsync(HttpStatusCode.Created);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, registration).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await school.Host.WithDbAsync(db => db.Set<Car>().ExecuteUpdateAsync(set => set.SetProperty(c => c.DualControls, dualControls)));

        var search = await school.Office.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-06&to=2026-03-06&kind=motorway");
        Assert.Empty(search.GetProperty("items").EnumerateArray());
        Assert.Equal(code, search.GetProperty("obstacles")[0].Word("code"));
        Assert.Equal(code, await (await BookAsync(school.Office, school, "motorway", London(2026, 3, 6, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(code, await (await school.Office.MoveAsync(booked.Id(), London(2026, 3, 6, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10));
        var attention = (await school.Office.GetJsonAsync("/api/v1/attention")).GetRawText();
        Assert.Contains("The Highway Code, rule 253", attention, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_lesson_on_the_test_day_is_on_the_day_of_a_test()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal("no_test_that_day", await (await BookAsync(school.Office, school, "testDay", Thursday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await school.Office.EnteredAsync(school.PupilId, London(2026, 3, 5, 14), ("instructorId", school.InstructorId));
        var lesson = await (await BookAsync(school.Office, school, "testDay", Thursday10)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("testDay", lesson.Word("kind"));
        Assert.Equal("no_test_that_day", await (await school.Office.MoveAsync(lesson.Id(), London(2026, 3, 6, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await school.Office.MoveAsync(lesson.Id(), London(2026, 3, 5, 9))).JsonAsync();
    }

    [Fact]
    public async Task A_mock_test_lesson_opens_the_mock_sheet_once_it_has_begun()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var mock = (await (await BookAsync(school.Office, school, "mock", Thursday10)).JsonAsync(HttpStatusCode.Created)).Id();
        var usual = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 12))).Id();
        var sheet = $"/syllabus/mocks/new?pupil={school.PupilId}&lesson={mock}";
        using var early = await school.Host.PagesAsAsync(await PersonAsync(school, Hat.Instructor));
        Assert.DoesNotContain(sheet, await (await early.GetAsync($"/diary/lessons/{mock}")).TextAsync(), StringComparison.Ordinal);
        school.Host.Clock.Reset(London(2026, 3, 5, 13, 30));
        using var instructor = await school.Host.PagesAsAsync(await PersonAsync(school, Hat.Instructor));
        foreach (var page in new[] { $"/diary/lessons/{mock}", "/diary/day?date=2026-03-05" })
        {
            Assert.Contains(sheet, await (await instructor.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        }

        Assert.DoesNotContain("Mock sheet", await (await instructor.GetAsync($"/diary/lessons/{usual}")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains($"value=\"{mock}\" selected", (await (await instructor.GetAsync(sheet)).TextAsync()).Replace("selected=\"selected\" value=\"" + mock + "\"", $"value=\"{mock}\" selected", StringComparison.Ordinal), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_kind_is_chosen_on_the_pages_that_book()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var found = await (await office.GetAsync($"/diary/lessons/new?pupilId={school.PupilId}&kind=mock")).TextAsync();
        Assert.Contains("&kind=mock", found, StringComparison.Ordinal);
        var check = $"/diary/book/check?pupil={school.PupilId}&start=2026-03-05T10:00:00Z&minutes=60&with={school.InstructorId}&kind=mock";
        Assert.Contains("Mock test", await (await office.GetAsync(check)).TextAsync(), StringComparison.Ordinal);
        var done = await office.PostFormAsync(
            check, "/diary/book/check", ("pupil", $"{school.PupilId}"), ("start", "2026-03-05T10:00:00Z"), ("minutes", "60"), ("with", $"{school.InstructorId}"), ("kind", "mock"));
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        Assert.Equal("mock", (await school.Office.GetJsonAsync("/api/v1/lessons")).GetProperty("items")[0].Word("kind"));

        using var pupil = await school.Host.PagesAsAsync(await PersonAsync(school, Hat.Pupil));
        var book = await (await pupil.GetAsync("/diary/book")).TextAsync();
        Assert.DoesNotContain("name=\"Kind\"", book, StringComparison.Ordinal);
        Assert.Contains("The school also gives: Assessment", book, StringComparison.Ordinal);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("refresher", "Refresher", [90], pupilsBook: true));
        book = await (await pupil.GetAsync("/diary/book?kind=refresher")).TextAsync();
        Assert.Contains("Refresher, ", book, StringComparison.Ordinal);
        Assert.Contains("minutes=90&", book, StringComparison.Ordinal);
        Assert.Contains("This kind of lesson is booked by the school", await (await pupil.GetAsync("/diary/book?kind=mock")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Another_kind_on_the_form_takes_its_own_length_and_so_do_weekly_lessons_of_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("refresher", "Refresher", [90], pupilsBook: true));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        foreach (var page in new[] { $"/diary/book?pupil={school.PupilId}&", $"/diary/lessons/new?pupilId={school.PupilId}&" })
        {
            Assert.Contains("/diary/weekly?", await (await office.GetAsync($"{page}minutes=60")).TextAsync(), StringComparison.Ordinal);
            var other = await (await office.GetAsync($"{page}minutes=60&kind=refresher&beside=standard")).TextAsync();
            Assert.Contains("minutes=90&", other, StringComparison.Ordinal);
            Assert.Matches("/diary/weekly\\?[^\"]*&kind=refresher", other);
            // A length that was chosen beside that very kind stays: staff book others too.
            Assert.Contains("minutes=60&", await (await office.GetAsync($"{page}minutes=60&kind=refresher&beside=refresher")).TextAsync(), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_lesson_of_another_kind_at_the_same_time_is_not_taken_for_the_one_asked_for()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Task<HttpResponseMessage> BookAgainAsync(string kind) => office.PostFormAsync(
            $"/diary/book?pupil={school.PupilId}", "/diary/book/check",
            ("pupil", $"{school.PupilId}"), ("start", "2026-03-05T10:00:00Z"), ("minutes", "60"), ("with", $"{school.InstructorId}"), ("kind", kind));

        using var same = await BookAgainAsync("standard");
        using var mock = await BookAgainAsync("mock");

        Assert.Equal((HttpStatusCode.Redirect, HttpStatusCode.OK), (same.StatusCode, mock.StatusCode));
        Assert.Contains("already has a lesson then", await mock.TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_pupil_moves_a_lesson_whose_length_is_no_longer_on_offer()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = await (await BookAsync(school.Office, school, "intensive", Thursday10, 195)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("length_not_offered", await (await school.Pupil.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 9, 10), 195)).CodeAsync(HttpStatusCode.UnprocessableEntity));

        var moved = await (await school.Pupil.MoveAsync(lesson.Id(), London(2026, 3, 6, 10))).JsonAsync();

        Assert.Equal((195, London(2026, 3, 6, 13, 30)), (moved.GetProperty("minutes").GetInt32(), moved.Moment("end")));
    }

    // Two hours and fifteen minutes: The Highway Code, rule 91.
    [Fact]
    public async Task A_lesson_longer_than_the_rest_limit_carries_its_breaks()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = await (await BookAsync(school.Office, school, "intensive", Thursday10, 300)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal((300, London(2026, 3, 5, 15, 30)), (lesson.GetProperty("minutes").GetInt32(), lesson.Moment("end")));
        Assert.Equal(
            [(London(2026, 3, 5, 11, 40), 15), (London(2026, 3, 5, 13, 35), 15)],
            lesson.GetProperty("breaks").EnumerateArray().Select(rest => (rest.Moment("start"), rest.GetProperty("minutes").GetInt32())));

        // People and car are taken until the end, also to the last guard; limits and hours count teaching.
        var other = await school.Host.Data.PupilAsync("Idris Bell");
        Assert.Equal("instructor_busy", await (await school.Office.BookAsync(other.Id, school.InstructorId, London(2026, 3, 5, 15, 15))).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Database.SqlQuery<int>(
            $"SELECT count(*)::int AS \"Value\" FROM diary.occupied WHERE upper(during) = timestamptz '2026-03-05 15:30+00'").SingleAsync()));
        Assert.Equal(300, (await school.Office.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-03-05")).GetProperty("taughtMinutes").GetInt32());
        var rules = System.Text.Json.Nodes.JsonNode.Parse((await school.Office.GetJsonAsync("/api/v1/diary/settings")).GetRawText())!.AsObject();
        rules["dailyTeachingMinutes"] = 375;
        await (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", rules, etag: "*")).JsonAsync();
        Assert.Equal("daily_limit", await (await school.Office.BookAsync(other.Id, school.InstructorId, London(2026, 3, 5, 16), 80)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await school.Office.BookedAsync(other.Id, school.InstructorId, London(2026, 3, 5, 16), 75);

        // The breaks go along when it moves, and stand in the calendar, the letter and on the page.
        var moved = await (await school.Office.MoveAsync(lesson.Id(), London(2026, 3, 6, 9))).JsonAsync();
        Assert.Equal((London(2026, 3, 6, 14, 30), London(2026, 3, 6, 10, 40)), (moved.Moment("end"), moved.GetProperty("breaks")[0].Moment("start")));
        var feed = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/feeds", new { instructorId = school.InstructorId, detail = "full" })).JsonAsync(HttpStatusCode.Created);
        var calendar = await (await school.Office.GetAsync(new Uri(feed.Word("url")!).PathAndQuery)).Content.ReadAsStringAsync();
        Assert.Contains($"UID:{lesson.Id()}-break-2", calendar, StringComparison.Ordinal);
        Assert.Equal(2, calendar.Split("SUMMARY:Break").Length - 1);
        Assert.Contains("10:40 to 10:55, 12:35 to 12:50", (await school.MessagesAsync(lesson.Id(), "lesson_moved"))[^1].Text, StringComparison.Ordinal);
        using var office = await school.Host.PagesAsAsync(await PersonAsync(school, Hat.Office));
        Assert.Contains("10:40 to 10:55, 12:35 to 12:50", await (await office.GetAsync($"/diary/lessons/{lesson.Id()}")).TextAsync(), StringComparison.Ordinal);

        // What was taught until now leaves out the break that has passed.
        school.Host.Clock.Reset(London(2026, 3, 6, 11));
        using var teacher = await school.Host.ApiAsAsync(await PersonAsync(school, Hat.Instructor));
        Assert.Equal(HttpStatusCode.BadRequest, (await teacher.RecordAsync(lesson.Id(), 110, "Ended early.")).StatusCode);
        await (await teacher.RecordAsync(lesson.Id(), 105, "Ended early.")).JsonAsync();
    }

    [Fact]
    public async Task A_lesson_that_its_breaks_make_longer_than_half_a_day_is_refused()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var settings = System.Text.Json.Nodes.JsonNode.Parse((await school.Office.GetJsonAsync("/api/v1/diary/settings")).GetRawText())!.AsObject();
        (settings["restAfterMinutes"], settings["restMinutes"], settings["dailyTeachingMinutes"]) = (30, 30, 600);
        await (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", settings, etag: "*")).JsonAsync();
        var refused = await (await BookAsync(school.Office, school, "intensive", London(2026, 3, 5, 8), 480)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(("length_not_offered", "With the breaks that it needs a lesson lasts at most 12 hours. Choose a shorter one."), (refused.Word("code"), refused.Word("detail")));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Modules.Diary.Lessons.Lesson>().CountAsync()));
    }

    internal static Task<HttpResponseMessage> BookAsync(HttpClient api, SmallSchool school, string kind, Instant start, int minutes = 60) =>
        api.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(start), minutes, kind });

    internal static Task<Person> PersonAsync(SmallSchool school, Hat role) =>
        school.Host.WithDbAsync(db => db.Set<Person>().FirstAsync(p => role == Hat.Pupil ? p.PupilId != null : role == Hat.Instructor ? p.InstructorId != null : p.Parts != OfficeParts.None));
}
