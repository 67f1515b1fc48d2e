using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

public sealed class BookLessonTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task A_pupil_with_a_lesson_then_is_told_of_that_and_not_of_the_instructor()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var start = London(2026, 3, 5, 10);
        var lesson = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, start)).Id();
        var own = await (await school.Pupil.BookAsync(school.PupilId, school.InstructorId, start + Duration.FromMinutes(30))).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal(("pupil_busy", "You already have a lesson then. Choose another time."), (own.Word("code"), own.Word("detail")));
        var theirs = await (await school.Office.BookAsync(school.PupilId, school.InstructorId, start + Duration.FromMinutes(30))).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal(("pupil_busy", "The pupil already has a lesson then. Choose another time."), (theirs.Word("code"), theirs.Word("detail")));
        Assert.NotEmpty(own.GetProperty("alternatives").EnumerateArray());

        // Another pupil's lesson is the instructor's business, and so is one that the pupil's own only touches or moves into.
        var other = await school.Host.Data.PupilAsync("Idris Bell");
        await school.Office.BookedAsync(other.Id, school.InstructorId, start + Duration.FromHours(2));
        Assert.Equal("instructor_busy", await (await school.Pupil.BookAsync(school.PupilId, school.InstructorId, start + Duration.FromHours(2))).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("instructor_busy", await (await school.Pupil.MoveAsync(lesson, start + Duration.FromMinutes(90))).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task A_pupil_books_a_free_time_that_the_search_offers()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));

        var slots = await api.GetJsonAsync($"/api/v1/slots?pupilId={pupil.Id}&from=2026-03-05&to=2026-03-05&minutes=60");
        var slot = slots.GetProperty("items").EnumerateArray().Single(s => s.Moment("start") == Thursday10);
        Assert.Equal(instructor.Id, slot.Id("instructorId"));
        Assert.Equal(System.Text.Json.JsonValueKind.Null, slot.GetProperty("extraDrivingMinutes").ValueKind);

        var answer = await api.BookAsync(pupil.Id, instructor.Id, Thursday10);
        var lesson = await answer.JsonAsync(HttpStatusCode.Created);
        Assert.Equal($"/api/v1/lessons/{lesson.Id()}", answer.Headers.Location!.ToString());
        Assert.Equal("\"1\"", answer.Headers.ETag!.Tag);
        Assert.Equal("booked", lesson.Word("state"));
        Assert.Equal(60, lesson.GetProperty("minutes").GetInt32());
        Assert.Equal(slot.Id("carId"), lesson.Id("carId"));
        Assert.Equal("Mill Lane", lesson.GetProperty("pickUp").Word("label"));

        var again = await api.GetAsync(answer.Headers.Location);
        Assert.Equal(lesson.ToString(), (await again.JsonAsync()).ToString());
        Assert.Equal("\"1\"", again.Headers.ETag!.Tag);
    }

    [Fact]
    public async Task A_time_that_is_gone_is_409_with_the_three_nearest_alternatives()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var (first, second) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale"));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await office.BookedAsync(first.Id, instructor.Id, Thursday10);

        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(second));
        var problem = await (await api.BookAsync(second.Id, instructor.Id, Thursday10)).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal("instructor_busy", problem.Word("code"));
        var alternatives = problem.GetProperty("alternatives").EnumerateArray().ToList();
        Assert.Equal(3, alternatives.Count);
        Assert.All(alternatives, a => Assert.True((a.Moment("start") - Thursday10).TotalHours is > -2 and < 2));
        await api.BookedAsync(second.Id, instructor.Id, alternatives[0].Moment("start"));
    }

    [Fact]
    public async Task A_pupil_books_only_for_themselves_and_an_instructor_only_into_their_own_diary()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (mine, other) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Basil Thornby"));
        var (pupil, stranger) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale", instructor: mine.Id));
        using var asPupil = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        using var asInstructor = await host.ApiAsAsync(await host.Data.PersonAsync(mine));

        Assert.Equal("not_found", await (await asPupil.BookAsync(stranger.Id, mine.Id, Thursday10)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("not_found", await (await asInstructor.BookAsync(pupil.Id, other.Id, Thursday10)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("not_your_pupil", await (await asInstructor.BookAsync(pupil.Id, mine.Id, Thursday10)).CodeAsync(HttpStatusCode.Forbidden));
        await asInstructor.BookedAsync(stranger.Id, mine.Id, Thursday10);
        await asPupil.BookedAsync(pupil.Id, other.Id, Thursday10);
    }

    [Fact]
    public async Task Unknown_ids_are_404_and_what_is_not_well_formed_is_400_beside_its_field()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());

        Assert.Equal("not_found", await (await api.BookAsync(Guid.NewGuid(), instructor.Id, Thursday10)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("not_found", await (await api.BookAsync(pupil.Id, Guid.NewGuid(), Thursday10)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("not_found", await (await api.GetAsync($"/api/v1/lessons/{Guid.NewGuid()}")).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("not_found", await (await api.MoveAsync(Guid.NewGuid(), Thursday10)).CodeAsync(HttpStatusCode.NotFound));

        var wrong = await (await api.BookAsync(pupil.Id, instructor.Id, Thursday10 + Duration.FromSeconds(1), 900)).JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(["minutes", "start"], wrong.GetProperty("errors").EnumerateObject().Select(e => e.Name).Order());
        var farAway = await (await api.BookAsync(pupil.Id, instructor.Id, London(2226, 3, 5, 10))).JsonAsync(HttpStatusCode.BadRequest);
        Assert.True(farAway.GetProperty("errors").TryGetProperty("start", out _));
        var noOffset = await api.SendJsonAsync(
            HttpMethod.Post, "/api/v1/lessons", new { pupilId = pupil.Id, instructorId = instructor.Id, start = "2026-03-05T10:00:00", minutes = 60 });
        Assert.Contains("offset", (await noOffset.JsonAsync(HttpStatusCode.BadRequest)).Word("detail"));
        var badPlace = await api.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new
        {
            pupilId = pupil.Id,
            instructorId = instructor.Id,
            start = Text(Thursday10),
            minutes = 60,
            pickUp = new { label = "", address = "1 Weir Road", latitude = 91, longitude = 0 },
        });
        Assert.Equal(
            ["pickUp.label", "pickUp.latitude"],
            (await badPlace.JsonAsync(HttpStatusCode.BadRequest)).GetProperty("errors").EnumerateObject().Select(e => e.Name).Order());
    }

    [Fact]
    public async Task A_place_of_its_own_is_kept_with_the_lesson_emoji_and_right_to_left_letters_included()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync("Noa \u05e0\u05d5\u05e2\u05d4 \U0001F697");
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var answer = await api.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new
        {
            pupilId = pupil.Id,
            instructorId = instructor.Id,
            start = Text(Thursday10),
            minutes = 60,
            pickUp = new { label = "Caf\u00e9 \u202e\u2615", address = "1 Weir Road", latitude = 52.401, longitude = -1.201 },
        });
        var lesson = await answer.JsonAsync(HttpStatusCode.Created);
        Assert.Equal("Caf\u00e9 \u2615", lesson.GetProperty("pickUp").Word("label"));
        Assert.Equal("Caf\u00e9 \u2615", lesson.GetProperty("dropOff").Word("label"));
    }

    [Theory]
    [InlineData("too young", "pupil_too_young")]
    [InlineData("registration", "instructor_not_registered")]
    [InlineData("mot", "no_suitable_car")]
    [InlineData("gearbox", "no_suitable_car")]
    [InlineData("hours", "outside_working_hours")]
    [InlineData("weekly", "weekly_limit")]
    public async Task A_rule_that_says_no_is_422_with_its_code(string what, string code)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(gearbox: what == "gearbox" ? School.Core.Cars.Gearbox.Automatic : School.Core.Cars.Gearbox.Manual);
        await host.WithDbAsync(db => what switch
        {
            // Turns seventeen on the day after the lesson.
            "too young" => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.BirthDate, new LocalDate(2009, 3, 6))),
            "registration" => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.RegisteredTo, new LocalDate(2026, 3, 4))),
            "mot" => db.Set<Car>().ExecuteUpdateAsync(set => set
                .SetProperty(c => c.FirstRegistered, new LocalDate(2020, 3, 1)).SetProperty(c => c.MotExpires, new LocalDate(2026, 3, 4))),
            "weekly" => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.WeeklyMinutes, 45)),
            _ => Task.FromResult(1),
        });
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var start = what == "hours" ? London(2026, 3, 5, 17, 30) : Thursday10;
        var problem = await (await api.BookAsync(pupil.Id, instructor.Id, start)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(code, problem.Word("code"));
        Assert.True(problem.TryGetProperty("alternatives", out _));
        Assert.EndsWith(".", problem.Word("detail"));
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task Notice_grid_and_horizon_bind_a_pupil_and_not_the_office()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        using var asPupil = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        foreach (var (start, code) in new[]
        {
            (London(2026, 3, 2, 16), "inside_notice"), (London(2026, 3, 5, 10, 7), "off_the_grid"), (London(2026, 7, 1, 10), "beyond_horizon"),
        })
        {
            Assert.Equal(code, await (await asPupil.BookAsync(pupil.Id, instructor.Id, start)).CodeAsync(HttpStatusCode.UnprocessableEntity));
            await office.BookedAsync(pupil.Id, instructor.Id, start);
        }

        Assert.Equal(
            "length_not_offered", await (await asPupil.BookAsync(pupil.Id, instructor.Id, Thursday10, 75)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("in_the_past", await (await office.BookAsync(pupil.Id, instructor.Id, London(2026, 3, 1, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Theory]
    [InlineData(29, 3, 11, "2026-03-29T10:00:00Z")] // the day the clocks go forward: British Summer Time by eleven
    [InlineData(28, 3, 11, "2026-03-28T11:00:00Z")]
    [InlineData(24, 10, 11, "2026-10-24T10:00:00Z")]
    [InlineData(25, 10, 11, "2026-10-25T11:00:00Z")] // the day they go back
    public async Task Local_hours_hold_on_the_days_when_the_clocks_change(int day, int month, int hour, string expected)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var lesson = await office.BookedAsync(pupil.Id, instructor.Id, London(2026, month, day, hour));
        Assert.Equal(expected, lesson.Word("start"));

        // Hours are 08:00 to 18:00 by the clock on the wall.
        await office.BookedAsync(pupil.Id, instructor.Id, London(2026, month, day, 8));
        await office.BookedAsync(pupil.Id, instructor.Id, London(2026, month, day, 17));
        Assert.Equal(
            "outside_working_hours",
            await (await office.BookAsync(pupil.Id, instructor.Id, London(2026, month, day, 17, 15))).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task A_pupil_or_instructor_who_left_is_not_booked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (here, gone) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Basil Thornby"));
        var (pupil, left) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale"));
        await host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.Id == gone.Id).ExecuteUpdateAsync(set => set.SetProperty(i => i.RetiredOn, new LocalDate(2026, 3, 1))));
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == left.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, new LocalDate(2026, 3, 1))));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal("instructor_left", await (await office.BookAsync(pupil.Id, gone.Id, Thursday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("pupil_left", await (await office.BookAsync(left.Id, here.Id, Thursday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }
}
