using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Diary.Settings;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.Courses.CourseTests;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Courses;

/// <summary>What of a course was booked, for whom, and what its plan still stands for.</summary>
public sealed class CourseBookedTests(TestPostgres postgres)
{
    private const string Url = CourseTests.Path;

    [Fact]
    public async Task Of_a_course_that_is_booked_in_part_only_that_part_is_told()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        var lines = Lines(course);
        var (page, three) = ($"/diary/courses/{course.Id()}", new[] { lines[0].Id(), lines[1].Id(), lines[3].Id() });
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Equal(HttpStatusCode.Redirect, (await PressAsync(office, page, three)).StatusCode);
        var shown = await (await office.GetAsync(page)).TextAsync();
        Assert.Contains("Of 5 days that were planned, 3 days were booked.", shown, StringComparison.Ordinal);
        Assert.Contains("12 hours of teaching on 3 days", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("20 hours of teaching on 5 days", shown, StringComparison.Ordinal);
        Assert.Equal(3, shown.Split("data-label=\"Teaching\"").Length - 1);

        var told = await school.Office.GetJsonAsync($"{Url}/{course.Id()}");
        Assert.Equal("applied", told.Word("state"));
        Assert.Equal(three, Lines(told).Select(line => line.Id()));
        Assert.Equal((await LessonsAsync(school)).Select(lesson => lesson.Id), Lines(told).Select(line => line.Id("lessonId")));

        // The same once more is what has happened; the others have not been booked and are not said to be.
        Assert.Equal(HttpStatusCode.Redirect, (await PressAsync(office, page, three)).StatusCode);
        var others = await (await PressAsync(office, page, [lines[2].Id(), lines[4].Id()])).TextAsync();
        Assert.Contains("This was carried out already.", others, StringComparison.Ordinal);
        Assert.Contains("12 hours of teaching on 3 days", others, StringComparison.Ordinal);
        Assert.Equal(3, (await LessonsAsync(school)).Count);
    }

    [Fact]
    public async Task Two_presses_at_the_same_moment_book_once_and_both_are_confirmed()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        var (page, all) = ($"/diary/courses/{course.Id()}", Lines(course).Select(line => line.Id()).ToArray());
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        using var same = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        // So slow that the other begins before the one is done.
        await SqlAsync(school, """
            CREATE FUNCTION diary.wait() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN PERFORM pg_sleep(0.4); RETURN NULL; END $$;
            CREATE TRIGGER waits AFTER INSERT ON diary.lessons FOR EACH STATEMENT EXECUTE FUNCTION diary.wait()
            """);
        var answers = await Task.WhenAll(PressAsync(office, page, all), PressAsync(same, page, all));
        Assert.All(answers, answer => Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode));
        Assert.Equal(5, (await LessonsAsync(school)).Count);
    }

    [Fact]
    public async Task From_a_place_that_is_to_be_found_no_driving_is_told()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.All(Lines(await PlannedAsync(school)), line => Assert.Equal(JsonValueKind.Number, line.GetProperty("extraDrivingMinutes").ValueKind));
        await PupilsAsync(school, set => set.SetProperty(p => p.PickUp.Certainty, PlaceCertainty.ToBeFound));
        var course = await PlannedAsync(school);
        Assert.All(Lines(course), line => Assert.Equal(JsonValueKind.Null, line.GetProperty("extraDrivingMinutes").ValueKind));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var shown = await (await office.GetAsync($"/diary/courses/{course.Id()}")).TextAsync();
        Assert.Contains("(place to be found)", shown, StringComparison.Ordinal);
        Assert.Equal(5, shown.Split("not told: place to be found").Length - 1);
        Assert.DoesNotMatch("data-label=\"Driving added\" class=\"figure\">[0-9]", shown);
    }

    [Fact]
    public async Task What_changes_for_its_pupil_makes_the_plan_stale()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        var times = $"/api/v1/pupils/{school.PupilId}/availability";
        await (await school.Office.SendJsonAsync(HttpMethod.Put, times, new { times = Evenings("13:00") }, etag: "*")).JsonAsync();
        Assert.Equal("stale", (await school.Office.GetJsonAsync($"{Url}/{course.Id()}")).Word("state"));
        Assert.Equal("proposal_stale", await (await ApplyAsync(school.Office, course.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Empty(await LessonsAsync(school));
        var again = await school.Office.GetJsonAsync($"{Url}/{course.Id()}");
        Assert.Equal("proposed", again.Word("state"));
        Assert.All(Lines(again), line => Assert.True(line.Moment("start").InZone(SchoolHost.London).Hour >= 13));

        // A test of the pupil's on its own, to which nobody goes along.
        await SqlAsync(school, $"INSERT INTO diary.day_versions (day, subject, version) VALUES ('2026-03-04', '{school.PupilId}', 1)");
        Assert.Equal("stale", (await school.Office.GetJsonAsync($"{Url}/{course.Id()}")).Word("state"));
    }

    [Fact]
    public async Task A_day_on_which_the_pupil_cannot_come_any_more_stops_all_of_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        // Past everything that would make it stale: what the check finds under the locks.
        await school.Host.WithDbAsync(async db =>
        {
            db.AddRange(Enum.GetValues<IsoDayOfWeek>().Where(day => day is not (IsoDayOfWeek.None or IsoDayOfWeek.Thursday))
                .Select(day => new PupilAvailability { PupilId = school.PupilId, Day = day, From = new(7, 0), To = new(20, 0) }));
            return await db.SaveChangesAsync();
        });
        Assert.Equal("pupil_not_available", await (await ApplyAsync(school.Office, course.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Empty(await LessonsAsync(school));
        var others = Lines(course).Where(line => line.Moment("start").InZone(SchoolHost.London).DayOfWeek != IsoDayOfWeek.Thursday).Select(line => line.Id()).ToArray();
        await (await ApplyAsync(school.Office, course.Id(), others)).JsonAsync();
        Assert.Equal(4, (await LessonsAsync(school)).Count);
    }

    [Fact]
    public async Task Asking_again_begins_with_all_that_was_asked_for()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(
            school, ("minutes", 750), ("mostMinutesADay", 180), ("from", "2026-03-10"), ("to", "2026-03-19"), ("onHolidays", true),
            ("pickUp", new { label = "Weir Road", address = "4 Weir Road", latitude = 52.401, longitude = -1.201 }));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = await (await office.GetAsync($"/diary/courses/{course.Id()}")).TextAsync();
        Assert.Contains("Weir Road", page, StringComparison.Ordinal);
        var again = page.Split("\">Ask again")[0].Split("href=\"")[^1].Replace("&amp;", "&", StringComparison.Ordinal);
        var form = await (await office.GetAsync(again)).TextAsync();
        Assert.Matches("name=\"Input.Hours\"[^>]*value=\"12.5\"|value=\"12.5\"[^>]*name=\"Input.Hours\"", form);
        Assert.Matches("value=\"180\"[^>]*selected|selected[^>]*value=\"180\"", form);
        Assert.Contains("2026-03-10", form, StringComparison.Ordinal);
        Assert.Contains("2026-03-19", form, StringComparison.Ordinal);
        Assert.Contains("4 Weir Road", form, StringComparison.Ordinal);
        Assert.Contains("52.401, -1.201", form, StringComparison.Ordinal);
        Assert.Matches("name=\"Input.OnHolidays\"[^>]*checked|checked[^>]*name=\"Input.OnHolidays\"", form);
    }

    [Fact]
    public async Task Whose_pupil_has_no_e_mail_is_asked_to_tell_them()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await PupilsAsync(school, set => set.SetProperty(p => p.Email, ""));
        var course = await PlannedAsync(school);
        var page = $"/diary/courses/{course.Id()}";
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var shown = await (await office.GetAsync(page)).TextAsync();
        Assert.Contains("has no e-mail address: tell them yourself", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Pupil and instructor get one letter", shown, StringComparison.Ordinal);
        await PressAsync(office, page, [.. Lines(course).Select(line => line.Id())]);
        Assert.Contains("5 lessons booked. Tamsin Oakley has no e-mail address", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);

        var lesson = $"/diary/lessons/{(await LessonsAsync(school))[0].Id}";
        Assert.Contains("has no e-mail address", await (await office.GetAsync($"{lesson}/kind")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync($"{lesson}/kind", ("Kind", "Mock"), ("Minutes", "90"))).StatusCode);
        Assert.Contains("Tamsin Oakley has no e-mail address", await (await office.GetAsync(lesson)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Hours_that_its_lessons_cannot_make_up_are_answered_with_the_nearest_that_they_can()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("intensive", "Intensive lesson", [120, 180, 240]));
        var problem = await (await PlanAsync(school, ("minutes", 750))).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(("course_hours_impossible", 720), (problem.Word("code"), problem.GetProperty("fitsMinutes").GetInt32()));
        Assert.Contains("12½ hours cannot be made up of lessons of 2 hours, 3 hours or 4 hours. Plan 12 hours or 13 hours.", problem.Word("detail"), StringComparison.Ordinal);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("intensive", "Intensive lesson", [180]));
        Assert.Contains("Plan 18 hours or 21 hours.", (await (await PlanAsync(school)).JsonAsync(HttpStatusCode.UnprocessableEntity)).Word("detail"), StringComparison.Ordinal);
        Assert.Equal("length_not_offered", await (await PlanAsync(school, ("minutes", 720), ("mostMinutesADay", 120))).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task What_holds_on_every_day_is_told_by_itself_though_nobody_works_on_Sundays()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await SqlAsync(school, "DELETE FROM diary.working_hours WHERE day::text IN ('Sunday', '7')");
        await SqlAsync(school, "UPDATE people.instructors SET registered_to = '2026-03-01'");
        Assert.Equal("instructor_not_registered", await (await PlanAsync(school)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task The_page_for_a_lesson_leads_to_a_course_only_where_there_may_be_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = $"/diary/lessons/new?pupilId={school.PupilId}";
        Assert.Contains("an intensive course", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("intensive", "Intensive lesson", offered: false));
        Assert.DoesNotContain("an intensive course", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
    }

    private static IEnumerable<object> Evenings(string from) =>
        Enum.GetValues<IsoDayOfWeek>().Where(day => day != IsoDayOfWeek.None).Select(day => new { day = $"{day}".ToLowerInvariant(), from, to = "20:00" });

    private static Task<HttpResponseMessage> PressAsync(HttpClient browser, string page, Guid[] take) =>
        browser.PostFormAsync(page, $"{page}?handler=Apply", [("seen", "1"), .. take.Select(id => ("take", $"{id}"))]);
}
