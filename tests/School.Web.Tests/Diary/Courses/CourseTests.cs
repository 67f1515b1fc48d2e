using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary.Settings;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Courses;

/// <summary>An intensive course is planned, looked at and booked as a whole or in named days.</summary>
public sealed class CourseTests(TestPostgres postgres)
{
    internal const string Path = "/api/v1/courses";

    [Fact]
    public async Task Twenty_hours_in_a_week_are_planned_with_breaks_and_booked_with_one_letter_each()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        Assert.Equal(("proposed", "manual", 1200), (course.Word("state"), course.Word("gearbox"), course.GetProperty("minutes").GetInt32()));
        var lines = Lines(course);
        Assert.Equal([240, 240, 240, 240, 240], lines.Select(line => line.GetProperty("minutes").GetInt32()));
        Assert.All(lines, line =>
        {
            Assert.Equal("book", line.Word("act"));
            Assert.Equal(Duration.FromMinutes(255), line.Moment("end") - line.Moment("start"));
            var rest = line.GetProperty("breaks").EnumerateArray().Single();
            // Fifteen minutes after two hours: The Highway Code, rule 91.
            Assert.Equal((line.Moment("start") + Duration.FromHours(2), 15), (rest.Moment("start"), rest.GetProperty("minutes").GetInt32()));
        });
        Assert.Empty(await LessonsAsync(school));

        var applied = await (await ApplyAsync(school.Office, course.Id())).JsonAsync();
        Assert.Equal("applied", applied.Word("state"));
        var lessons = await LessonsAsync(school);
        Assert.Equal(lines.Select(line => line.Moment("start")), lessons.Select(lesson => lesson.StartsAt));
        Assert.All(lessons, lesson => Assert.Equal((LessonKind.Intensive, 240, "120+15"), (lesson.Kind, lesson.Minutes, lesson.KeptBreaks)));
        var letters = await school.Host.WithDbAsync(db => db.Set<Message>().Where(m => !m.Kind.EndsWith("reminder")).Select(m => m.Kind + " " + m.ToName).ToListAsync());
        Assert.Equal(["weekly_booked Marigold Ashby", "weekly_booked Tamsin Oakley"], letters.Order(StringComparer.Ordinal));
        Assert.Equal("proposal_applied", await (await ApplyAsync(school.Office, course.Id())).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task No_room_says_so_where_the_pupils_own_other_lessons_take_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var own = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 9, 10), 120)).Id();
        object ask = new { pupilId = school.PupilId, instructorId = school.InstructorId, minutes = 480, from = "2026-03-09", to = "2026-03-10", mostMinutesADay = 240 };
        var refused = await (await school.Office.SendJsonAsync(HttpMethod.Post, Path, ask)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal("course_no_room", refused.Word("code"));
        Assert.Contains("own other lessons take room (", refused.Word("detail"), StringComparison.Ordinal);
        Assert.Contains("10:00): without them 8 hours would fit.", refused.Word("detail"), StringComparison.Ordinal);

        // Somebody else's lessons are not the pupil's own.
        await (await school.Office.CancelAsync(own)).JsonAsync();
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Idris Bell")).Id, school.InstructorId, London(2026, 3, 9, 8), 480);
        var other = await (await school.Office.SendJsonAsync(HttpMethod.Post, Path, ask)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.DoesNotContain("own other lessons", other.Word("detail"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_the_school_gives_no_intensive_lessons_the_page_of_a_pupil_has_no_way_to_a_course()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Contains("/diary/courses?pupil=", await (await office.GetAsync($"/pupils/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("intensive", "Intensive lesson", offered: false));
        Assert.DoesNotContain("/diary/courses?pupil=", await (await office.GetAsync($"/pupils/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Only_the_days_that_are_named_are_booked()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        var lines = Lines(course);
        await (await ApplyAsync(school.Office, course.Id(), lines[0].Id(), lines[3].Id())).JsonAsync();
        Assert.Equal([lines[0].Moment("start"), lines[3].Moment("start")], (await LessonsAsync(school)).Select(lesson => lesson.StartsAt));
    }

    [Fact]
    public async Task What_the_diary_has_overtaken_is_refused_and_planned_again()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Idris Bell")).Id, school.InstructorId, Lines(course)[2].Moment("start") + Duration.FromHours(1));
        Assert.Equal("stale", (await school.Office.GetJsonAsync($"{Path}/{course.Id()}")).Word("state"));
        Assert.Equal("proposal_stale", await (await ApplyAsync(school.Office, course.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Empty(await LessonsAsync(school));
        var again = await school.Office.GetJsonAsync($"{Path}/{course.Id()}");
        Assert.Equal(("proposed", 1200), (again.Word("state"), Lines(again).Sum(line => line.GetProperty("minutes").GetInt32())));
        await (await ApplyAsync(school.Office, course.Id())).JsonAsync();
        Assert.Equal(1200, (await LessonsAsync(school)).Sum(lesson => lesson.Minutes));
    }

    [Fact]
    public async Task A_lesson_with_somebody_else_that_came_between_stops_all_of_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Bram Holt");
        var course = await PlannedAsync(school);
        // The pupil's, with another instructor: no change of the diary that was looked at.
        var start = Lines(course)[4].Moment("start");
        var between = (await school.Office.BookedAsync(school.PupilId, other.Id, start)).Id();
        Assert.Equal("pupil_busy", await (await ApplyAsync(school.Office, course.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(between, Assert.Single(await LessonsAsync(school)).Id);
        Assert.Equal("proposed", (await school.Office.GetJsonAsync($"{Path}/{course.Id()}")).Word("state"));
    }

    [Fact]
    public async Task A_service_that_dies_half_way_has_booked_nothing()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var course = await PlannedAsync(school);
        // The connection is cut when the fourth of five lessons is written, as by a killed server.
        await SqlAsync(school, """
            CREATE FUNCTION diary.die() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
                IF (SELECT count(*) FROM diary.lessons) >= 4 THEN PERFORM pg_terminate_backend(pg_backend_pid()); END IF; RETURN NULL; END $$;
            CREATE TRIGGER dies AFTER INSERT ON diary.lessons FOR EACH STATEMENT EXECUTE FUNCTION diary.die()
            """);
        using (var died = await ApplyAsync(school.Office, course.Id()))
        {
            Assert.True((int)died.StatusCode >= 500, $"{died.StatusCode}");
        }

        await SqlAsync(school, "DROP TRIGGER dies ON diary.lessons; DROP FUNCTION diary.die()");
        Assert.Empty(await LessonsAsync(school));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Message>().CountAsync()));
        Assert.Equal("proposed", (await school.Office.GetJsonAsync($"{Path}/{course.Id()}")).Word("state"));
        await (await ApplyAsync(school.Office, course.Id())).JsonAsync();
        Assert.Equal(5, (await LessonsAsync(school)).Count);
    }

    [Fact]
    public async Task All_that_makes_no_sense_is_told_in_one_round()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var problem = await (await PlanAsync(school, ("minutes", 60), ("mostMinutesADay", 500), ("from", "2026-03-01"), ("to", "2026-08-01"), ("gearbox", "automatic")))
            .JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(["from", "gearbox", "minutes", "mostMinutesADay", "to"], problem.GetProperty("errors").EnumerateObject().Select(error => error.Name).Order(StringComparer.Ordinal));
        Assert.Contains("over by Monday 25 May 2026", problem.GetProperty("errors").GetProperty("to").GetRawText(), StringComparison.Ordinal);
        foreach (var minutes in new[] { int.MinValue, int.MaxValue })
        {
            Assert.Equal(HttpStatusCode.BadRequest, (await PlanAsync(school, ("minutes", minutes), ("mostMinutesADay", minutes))).StatusCode);
        }

        Assert.Contains("cannot be had in 2 days", (await (await PlanAsync(school, ("to", "2026-03-04"))).JsonAsync(HttpStatusCode.BadRequest)).GetRawText(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.BadRequest, (await PlanAsync(school, ("from", "9999-12-31"), ("to", "9999-12-31"))).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await PlanAsync(school, ("to", "2026-03-02"))).StatusCode);
    }

    [Fact]
    public async Task A_course_that_goes_beyond_the_time_for_which_lessons_are_booked_says_until_when_it_may_go()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var problem = await (await PlanAsync(school, ("from", "2026-05-20"), ("to", "2026-05-26"))).JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(
            "Lessons are booked at most 84 days ahead, so a course must be over by Monday 25 May 2026. Choose an earlier last day, or a longer time under the booking rules.",
            problem.GetProperty("errors").GetProperty("to")[0].GetString());
        await (await PlanAsync(school, ("from", "2026-05-20"), ("to", "2026-05-25"))).JsonAsync(HttpStatusCode.Created);
    }

    [Fact]
    public async Task Where_there_is_no_room_it_says_how_many_hours_fit()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.DailyTeachingMinutes, 150)));
        var problem = await (await PlanAsync(school)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(("course_no_room", 1050), (problem.Word("code"), problem.GetProperty("fitsMinutes").GetInt32()));
        Assert.Contains("17½ hours of the 20 hours fit", problem.Word("detail"), StringComparison.Ordinal);

        // The limit of the pupil's week binds before that of the instructor's day.
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.WeeklyMinutes, 300)));
        problem = await (await PlanAsync(school)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        // Tuesday to Sunday, and the Monday after.
        Assert.Equal(450, problem.GetProperty("fitsMinutes").GetInt32());
        Assert.Contains("at most 5 hours a week", problem.Word("detail"), StringComparison.Ordinal);
        Assert.Equal(450, Lines(await PlannedAsync(school, ("minutes", 450))).Sum(line => line.GetProperty("minutes").GetInt32()));

        // What holds on every day is told as what it is.
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.RegisteredTo, new LocalDate(2026, 3, 1))));
        Assert.Equal("instructor_not_registered", await (await PlanAsync(school)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task A_holiday_in_the_middle_is_left_out_unless_it_is_asked_for()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(async db =>
        {
            db.Add(new Holiday { Nation = "england-and-wales", Date = new(2026, 3, 5), Name = "Larkfield Day" });
            return await db.SaveChangesAsync();
        });
        (string, object)[] five = [("to", "2026-03-07")];
        var problem = await (await PlanAsync(school, five)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(960, problem.GetProperty("fitsMinutes").GetInt32());
        Assert.Contains("Left out: Thursday 5 March (Larkfield Day).", problem.Word("detail"), StringComparison.Ordinal);
        Assert.Contains(new LocalDate(2026, 3, 5), Dates(await PlannedAsync(school, [.. five, ("onHolidays", true)])));
        var course = await PlannedAsync(school);
        Assert.DoesNotContain(new LocalDate(2026, 3, 5), Dates(course));
        Assert.Equal("Larkfield Day", course.GetProperty("leftOut")[0].Word("name"));
    }

    [Fact]
    public async Task Theory_and_eyesight_are_looked_at_first()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(["eyesight_unchecked"], Notes(await PlannedAsync(school)));
        await PupilsAsync(school, set => set.SetProperty(p => p.EyesightCheckedOn, new LocalDate(2026, 2, 1)).SetProperty(p => p.TheoryPassedOn, (LocalDate?)null));
        Assert.Equal(["theory_missing"], Notes(await PlannedAsync(school)));
        // It counts until the day before its second anniversary: the last day of the course is one too late.
        await PupilsAsync(school, set => set.SetProperty(p => p.TheoryPassedOn, new LocalDate(2024, 3, 9)));
        Assert.Equal(["theory_lapsed"], Notes(await PlannedAsync(school)));
        await PupilsAsync(school, set => set.SetProperty(p => p.TheoryPassedOn, new LocalDate(2024, 3, 10)));
        Assert.Empty(Notes(await PlannedAsync(school)));

        await PupilsAsync(school, set => set.SetProperty(p => p.EyesightFailedOn, new LocalDate(2026, 2, 20)));
        Assert.Equal("eyesight_failed", await (await PlanAsync(school)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await PupilsAsync(school, set => set.SetProperty(p => p.EyesightFailedOn, (LocalDate?)null).SetProperty(p => p.LicenceFrom, (LocalDate?)null));
        Assert.Equal("no_provisional_licence", await (await PlanAsync(school)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task It_is_for_staff_an_instructor_with_themselves_and_of_a_kind_that_is_given()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Bram Holt");
        using var bram = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        Assert.Equal(HttpStatusCode.NotFound, (await bram.SendJsonAsync(HttpMethod.Post, Path, Body(school))).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.SendJsonAsync(HttpMethod.Post, Path, Body(school))).StatusCode);
        var course = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, Path, Body(school))).JsonAsync(HttpStatusCode.Created);
        Assert.Equal(HttpStatusCode.NotFound, (await bram.GetAsync($"{Path}/{course.Id()}")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.GetAsync($"{Path}/{course.Id()}")).StatusCode);

        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("intensive", "Intensive lesson", offered: false));
        Assert.Equal("kind_not_offered", await (await PlanAsync(school)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var refused = await ApplyAsync(school.Instructor, course.Id());
        Assert.True(refused.StatusCode is HttpStatusCode.Conflict or HttpStatusCode.UnprocessableEntity, $"{refused.StatusCode}");
        Assert.Empty(await LessonsAsync(school));
        Assert.Equal(HttpStatusCode.NoContent, (await school.Instructor.DeleteAsync($"{Path}/{course.Id()}")).StatusCode);
        Assert.Equal("proposal_stopped", await (await ApplyAsync(school.Instructor, course.Id())).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task It_is_planned_looked_at_and_booked_on_its_pages()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Contains($"/diary/courses?pupil={school.PupilId}", await (await office.GetAsync($"/pupils/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
        var form = $"/diary/courses?pupil={school.PupilId}";
        (string, string)[] fields = [("Input.Pupil", $"{school.PupilId}"), ("Input.With", $"{school.InstructorId}"), ("Input.Hours", "40"), ("Input.MostADay", "240"), ("Input.First", "2026-03-03"), ("Input.Last", "2026-03-09")];
        var no = await (await office.PostFormAsync(form, "/diary/courses", fields)).TextAsync();
        Assert.Contains("40 hours cannot be had in 7 days", no, StringComparison.Ordinal);
        fields[2] = ("Input.Hours", "28");
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.WeeklyMinutes, 960)));
        no = await (await office.PostFormAsync(form, "/diary/courses", fields)).TextAsync();
        Assert.Contains("Plan 20 hours instead", no, StringComparison.Ordinal);
        var made = await office.PostFormAsync(form, "/diary/courses", [.. fields, ("instead", "1200")]);
        Assert.Equal(HttpStatusCode.Redirect, made.StatusCode);
        var page = made.Headers.Location!.ToString();
        var shown = await (await office.GetAsync(page)).TextAsync();
        Assert.Contains("20 hours of teaching on 5 days", shown, StringComparison.Ordinal);
        Assert.Equal(10, shown.Split("class=\"course\"")[1].Split("</svg>")[0].Split("<rect").Length - 1);
        Assert.Contains("reads a number plate at 20 metres", shown, StringComparison.Ordinal);

        Assert.Contains("Tick at least one day", await (await office.PostFormAsync(page, $"{page}?handler=Apply")).TextAsync(), StringComparison.Ordinal);
        var take = shown.Split("name=\"take\" value=\"")[1..].Select(part => ("take", part[..36])).ToArray();
        Assert.Equal(5, take.Length);
        for (var press = 0; press < 2; press++)
        {
            Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(form, $"{page}?handler=Apply", take)).StatusCode);
            Assert.Equal(5, (await LessonsAsync(school)).Count);
        }

        Assert.Contains("This was booked", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        using var pupil = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId == school.PupilId)));
        Assert.Contains("not-allowed", (await pupil.GetAsync("/diary/courses")).Headers.Location!.ToString(), StringComparison.Ordinal);
    }

    private static Dictionary<string, object> Body(SmallSchool school, params (string Name, object Value)[] other)
    {
        Dictionary<string, object> body = new()
        {
            ["pupilId"] = school.PupilId,
            ["instructorId"] = school.InstructorId,
            ["minutes"] = 1200,
            ["from"] = "2026-03-03",
            ["to"] = "2026-03-09",
        };
        foreach (var (name, value) in other)
        {
            body[name] = value;
        }

        return body;
    }

    internal static Task<HttpResponseMessage> PlanAsync(SmallSchool school, params (string Name, object Value)[] other) =>
        school.Office.SendJsonAsync(HttpMethod.Post, Path, Body(school, other));

    internal static async Task<JsonElement> PlannedAsync(SmallSchool school, params (string Name, object Value)[] other) =>
        await (await PlanAsync(school, other)).JsonAsync(HttpStatusCode.Created);

    internal static Task<HttpResponseMessage> ApplyAsync(HttpClient api, Guid id, params Guid[] lines) =>
        api.SendJsonAsync(HttpMethod.Post, $"{Path}/{id}/apply", lines.Length == 0 ? null : new { lines });

    internal static List<JsonElement> Lines(JsonElement course) => [.. course.GetProperty("lines").EnumerateArray()];

    private static IEnumerable<string?> Notes(JsonElement course) => course.GetProperty("notes").EnumerateArray().Select(note => note.Word("code"));

    private static IEnumerable<LocalDate> Dates(JsonElement course) => Lines(course).Select(line => line.Moment("start").InZone(SchoolHost.London).Date);

    internal static Task<List<Lesson>> LessonsAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking()
        .Where(l => l.PupilId == school.PupilId && l.State == LessonState.Booked).OrderBy(l => l.StartsAt).ToListAsync());

    internal static Task<int> PupilsAsync(SmallSchool school, Action<Microsoft.EntityFrameworkCore.Query.UpdateSettersBuilder<Pupil>> set) =>
        school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set));

    internal static async Task SqlAsync(SmallSchool school, string sql)
    {
        await using var connection = new Npgsql.NpgsqlConnection(school.Host.ConnectionString);
        await connection.OpenAsync();
        await using var command = new Npgsql.NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync();
    }
}
