using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.TestDays;

/// <summary>The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class TestDayTests(TestPostgres postgres)
{
    private static readonly Instant Tuesday = London(2026, 4, 14, 10, 14);

    [Fact]
    public async Task A_test_day_takes_instructor_car_and_pupil_around_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var car = await CarAsync(school);

        var test = await school.Office.EnteredAsync(
            school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("carId", car), ("reference", "41000007"), ("insuredForTest", true));

        Assert.Equal(London(2026, 4, 14, 9, 14), test.Moment("blockedFrom"));
        Assert.Equal(London(2026, 4, 14, 11, 14), test.Moment("blockedUntil"));
        Assert.Equal("booked", test.Word("state"));
        Assert.Equal("2026-03-02", test.Word("insuredForTestSeenOn"));
        Assert.Empty(test.Warnings());
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        Assert.Equal("instructor_busy", await (await school.Office.BookAsync(other.Id, school.InstructorId, London(2026, 4, 14, 11))).CodeAsync(HttpStatusCode.Conflict));
        // The drive to the pick-up, and away from the centre, must fit too.
        Assert.Equal("no_time_to_get_there", await (await school.Office.BookAsync(other.Id, school.InstructorId, London(2026, 4, 14, 8, 14))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var second = await school.Host.Data.InstructorAsync("Basil Thornby");
        Assert.Equal("pupil_busy", await (await school.Office.BookAsync(school.PupilId, second.Id, London(2026, 4, 14, 10))).CodeAsync(HttpStatusCode.Conflict));
        var route = await school.Office.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-04-14");
        var stop = route.GetProperty("stops").EnumerateArray().Single();
        Assert.Equal(("test", test.Id()), (stop.Word("kind"), stop.Id("testDayId")));
        Assert.Equal((test.Moment("blockedFrom"), test.Moment("start")), (stop.Moment("start"), stop.Moment("testStart")));
        Assert.Equal(JsonValueKind.Null, stop.GetProperty("lessonId").ValueKind);
        Assert.Equal(0, route.GetProperty("taughtMinutes").GetInt32());
    }

    [Fact]
    public async Task Who_or_what_has_a_test_ahead_is_not_retired()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var car = await CarAsync(school);
        var test = (await school.Office.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("carId", car))).Id();
        var instructor = $"/api/v1/instructors/{school.InstructorId}/retire";

        await RefusedAsync($"/api/v1/cars/{car}/retire", "There is 1 test day ahead in this car. Change it or take it off the diary, then retire the car.");
        await RefusedAsync($"/api/v1/pupils/{school.PupilId}/retire", "This pupil has 1 test day ahead. Take it off the diary, then retire the pupil.");
        await RefusedAsync(instructor, "still has 1 test day ahead. Change it or take it off the diary first.");
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        var both = await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/cars/{car}/retire", null, etag: "*");
        Assert.Contains("There is 1 lesson and 1 test day ahead", (await both.JsonAsync(HttpStatusCode.UnprocessableEntity)).Word("detail"), StringComparison.Ordinal);

        await school.Office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{test}");
        var lessons = await school.Office.SendJsonAsync(HttpMethod.Post, instructor, new { on = "2026-03-02" }, etag: "*");
        Assert.Equal("lessons_ahead", await lessons.CodeAsync(HttpStatusCode.UnprocessableEntity));

        async Task RefusedAsync(string address, string sentence)
        {
            var answer = await (await school.Office.SendJsonAsync(HttpMethod.Post, address, address == instructor ? new { on = "2026-03-02" } : null, etag: "*"))
                .JsonAsync(HttpStatusCode.UnprocessableEntity);
            Assert.Equal("test_ahead", answer.Word("code"));
            Assert.Contains(sentence, answer.Word("detail"), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Its_time_is_free_again_once_it_is_moved_or_taken_off()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("ownCar", true))).Id();
        Assert.Equal(HttpStatusCode.Conflict, (await school.Office.BookAsync(school.PupilId, school.InstructorId, London(2026, 4, 14, 10))).StatusCode);

        await (await school.Office.ChangeAsync(id, school.PupilId, Tuesday + Duration.FromDays(1), ("instructorId", school.InstructorId), ("ownCar", true))).JsonAsync();
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 4, 14, 10));
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{id}")).StatusCode);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 4, 15, 10));

        var kept = await school.Office.GetJsonAsync($"{TestDayApi.Path}/{id}");
        Assert.Equal("takenOff", kept.Word("state"));
        Assert.Equal("test_day_closed", await (await school.Office.ChangeAsync(id, school.PupilId, Tuesday)).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task Lessons_in_the_way_are_named()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var corin = await school.Host.Data.PupilAsync("Corin Vale");
        var lesson = await school.Office.BookedAsync(corin.Id, school.InstructorId, London(2026, 4, 14, 9));

        var answer = await (await school.Office.EnterAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("ownCar", true))).JsonAsync(HttpStatusCode.Conflict);

        Assert.Equal("time_taken", answer.Word("code"));
        Assert.Contains("Corin Vale", answer.Word("detail"), StringComparison.Ordinal);
        Assert.Contains("09:00 to 10:00", answer.Word("detail"), StringComparison.Ordinal);
        Assert.Equal(lesson.Id(), answer.GetProperty("inTheWay")[0].Id());
        // Nothing was kept, and with less time before the test it fits.
        Assert.Equal(0, (await school.Office.GetJsonAsync(TestDayApi.Path)).GetProperty("items").GetArrayLength());
        await school.Office.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("ownCar", true), ("leadMinutes", 10));
    }

    [Fact]
    public async Task Of_a_lesson_and_a_test_entered_at_once_on_two_nodes_one_gets_the_time()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var second = school.Host.SecondNode();
        using var other = await second.ApiAsAsync(await school.Host.Data.OfficeAsync("Linnet Brook"));
        var corin = await school.Host.Data.PupilAsync("Corin Vale");
        for (var day = 13; day <= 17; day++)
        {
            var start = London(2026, 4, day, 10);
            var answers = await Task.WhenAll(
                school.Office.EnterAsync(school.PupilId, start, ("instructorId", school.InstructorId), ("ownCar", true)),
                other.BookAsync(corin.Id, school.InstructorId, start));
            Assert.Equal([HttpStatusCode.Created, HttpStatusCode.Conflict], answers.Select(a => a.StatusCode).Order());
        }

        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Database.SqlQueryRaw<int>(
            """
            SELECT count(*)::int AS "Value" FROM diary.occupied a JOIN diary.occupied b
              ON a.entry_id < b.entry_id AND a.during && b.during AND (a.instructor_id = b.instructor_id OR a.car_id = b.car_id OR a.pupil_id = b.pupil_id)
            """).SingleAsync()));
    }

    [Fact]
    public async Task The_database_itself_refuses_a_lesson_in_the_time_of_a_test()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("ownCar", true));
        var car = await CarAsync(school);
        var lesson = Lesson.Book(
            school.PupilId, school.InstructorId, car, new(Tuesday, Tuesday + Duration.FromHours(1)), TestData.PlaceAt(), TestData.PlaceAt(), school.Host.Clock.GetCurrentInstant());

        var thrown = await Assert.ThrowsAsync<DbUpdateException>(() => school.Host.AddAsync(lesson));

        var problem = Assert.IsType<Npgsql.PostgresException>(thrown.InnerException);
        Assert.Contains(problem.ConstraintName, new[] { "lessons_instructor_once", "lessons_pupil_once" });
    }

    [Fact]
    public async Task Two_lessons_swap_their_times_in_one_transaction_with_the_constraints_deferred()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var corin = await school.Host.Data.PupilAsync("Corin Vale");
        var a = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 4, 14, 10))).Id();
        var b = (await school.Office.BookedAsync(corin.Id, school.InstructorId, London(2026, 4, 14, 13))).Id();
        var (ten, one, hour) = (London(2026, 4, 14, 10), London(2026, 4, 14, 13), Duration.FromHours(1));

        await school.Host.WithDbAsync(async db =>
        {
            await using var transaction = await db.Database.BeginTransactionAsync();
            await db.Database.ExecuteSqlRawAsync("SET CONSTRAINTS diary.lessons_instructor_once, diary.lessons_car_once, diary.lessons_pupil_once DEFERRED");
            await db.Database.ExecuteSqlAsync($"UPDATE diary.lessons SET starts_at = {one}, ends_at = {one + hour} WHERE id = {a}");
            await db.Database.ExecuteSqlAsync($"UPDATE diary.lessons SET starts_at = {ten}, ends_at = {ten + hour} WHERE id = {b}");
            await transaction.CommitAsync();
            return 0;
        });

        Assert.Equal(one, (await school.Office.GetJsonAsync($"/api/v1/lessons/{a}")).Moment("start"));
    }

    // GOV.UK bank holidays and ten full working days, as in WorkingDaysTests; the rows that lie ahead of the clock and in its reach.
    [Theory]
    [InlineData("england-and-wales", 2026, 4, 14, "2026-03-30")]
    [InlineData("scotland", 2026, 4, 14, "2026-03-31")]
    [InlineData("england-and-wales", 2026, 5, 12, "2026-04-28")]
    [InlineData("scotland", 2026, 5, 12, "2026-04-28")]
    [InlineData("england-and-wales", 2026, 12, 10, "2026-11-27")]
    [InlineData("scotland", 2026, 12, 10, "2026-11-26")]
    [InlineData("england-and-wales", 2027, 1, 11, "2026-12-28")]
    [InlineData("scotland", 2027, 1, 11, "2026-12-22")]
    [InlineData("england-and-wales", 2027, 1, 5, "2026-12-18")] // Saturday 26 December 2026 counts as well as its substitute
    [InlineData("england-and-wales", 2028, 1, 6, "2027-12-19")]
    [InlineData("england-and-wales", 2027, 4, 6, "2027-03-22")]
    [InlineData("scotland", 2027, 4, 6, "2027-03-23")]
    [InlineData("england-and-wales", 2027, 8, 31, "2027-08-17")]
    [InlineData("scotland", 2027, 8, 31, "2027-08-18")]
    public async Task The_last_free_day_goes_by_the_nation_of_the_centre(string nation, int year, int month, int day, string expected)
    {
        await using var school = await SmallSchool.StartAsync(postgres);

        var test = await school.Office.EnteredAsync(school.PupilId, London(year, month, day, 10, 14), ("nation", nation));

        Assert.Equal(expected, test.Word("lastFreeDay"));
        Assert.Equal(LocalDateOf(expected).PlusDays(-1), LocalDateOf(test.Word("saferDay")!));
        Assert.Contains("Check the official page", test.Word("noticeSource"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_day_that_the_school_strikes_out_of_its_holidays_counts_again()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.SendJsonAsync(HttpMethod.Delete, "/api/v1/holidays/england-and-wales/2026-04-06")).StatusCode);

        Assert.Equal("2026-03-31", (await school.Office.EnteredAsync(school.PupilId, Tuesday)).Word("lastFreeDay"));
    }

    // The agency's own table of deadlines for Christmas 2013 has a test on a Sunday:
    // gov.uk/government/news/dsa-opening-hours-christmas-and-new-year--2.
    [Fact]
    public async Task A_test_on_a_Sunday_or_a_holiday_is_entered_and_looked_at_twice()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var sunday = await school.Pupil.EnteredAsync(school.PupilId, London(2026, 4, 12, 10));
        Assert.Contains("sunday", sunday.Warnings());
        Assert.Equal(HttpStatusCode.NoContent, (await school.Pupil.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{sunday.Id()}")).StatusCode);
        var easter = await school.Pupil.EnteredAsync(school.PupilId, London(2026, 4, 6, 10));
        Assert.Contains("bank_holiday", easter.Warnings());
        Assert.DoesNotContain("sunday", easter.Warnings());
    }

    [Fact]
    public async Task Two_tests_ahead_and_one_after_a_pass_are_told_to_both()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var first = (await school.Office.EnteredAsync(school.PupilId, Tuesday)).Id();
        var second = (await school.Office.EnteredAsync(school.PupilId, Tuesday + Duration.FromDays(21))).Id();
        foreach (var (api, test) in new[] { (school.Pupil, first), (school.Office, second) })
        {
            Assert.Contains("two_tests", (await api.GetJsonAsync($"{TestDayApi.Path}/{test}")).Warnings());
        }

        school.Host.Clock.Reset(Tuesday + Duration.FromHours(3));
        await (await school.Office.ResultAsync(first, true, 2)).JsonAsync();
        var later = await school.Pupil.GetJsonAsync($"{TestDayApi.Path}/{second}");
        Assert.Contains("passed_already", later.Warnings());
        Assert.DoesNotContain("two_tests", later.Warnings());
    }

    [Fact]
    public async Task Who_passed_in_an_automatic_may_take_a_test_in_a_manual_car()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        school.Host.Clock.Reset(Tuesday - Duration.FromDays(60));
        await school.Office.EnteredAsync(
            school.PupilId, Tuesday - Duration.FromDays(90), ("gearbox", "automatic"), ("result", new { passed = true, driving = 1, serious = 0, dangerous = 0 }));
        Assert.DoesNotContain("passed_already", (await school.Office.EnteredAsync(school.PupilId, Tuesday)).Warnings());
    }

    // 70 minutes for the whole appointment of an extended test: second-hand; a setting of the school.
    [Fact]
    public async Task An_extended_test_keeps_its_own_minutes_and_one_pupils_may_be_others()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var test = await school.Office.EnteredAsync(school.PupilId, Tuesday, ("extended", true));
        Assert.Equal((true, 70), (test.GetProperty("extended").GetBoolean(), test.GetProperty("minutes").GetInt32()));
        Assert.Equal(Tuesday + Duration.FromMinutes(70), test.Moment("end"));
        var other = await (await school.Office.ChangeAsync(test.Id(), school.PupilId, Tuesday, ("extended", true), ("minutes", 85))).JsonAsync();
        Assert.Equal(85, other.GetProperty("minutes").GetInt32());
        // What is not said stays.
        Assert.Equal(85, (await (await school.Office.ChangeAsync(test.Id(), school.PupilId, Tuesday, ("extended", true))).JsonAsync()).GetProperty("minutes").GetInt32());
        Assert.Equal(40, (await (await school.Office.ChangeAsync(test.Id(), school.PupilId, Tuesday)).JsonAsync()).GetProperty("minutes").GetInt32());
        Assert.Equal(["minutes"], await (await school.Office.ChangeAsync(test.Id(), school.PupilId, Tuesday, ("minutes", 5))).WrongFieldsAsync());
    }

    [Fact]
    public async Task What_cannot_be_right_is_refused_beside_its_field()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var manual = await CarAsync(school);
        var young = await school.Host.Data.PupilAsync("Bryony Tallis");
        await school.Host.WithDbAsync(async db =>
        {
            (await db.Set<Pupil>().SingleAsync(p => p.Id == young.Id)).BirthDate = new(2009, 4, 15);
            return await db.SaveChangesAsync();
        });

        await RuleAsync(school.Office.EnterAsync(school.PupilId, London(2026, 2, 24, 10)), "test_in_past", "start");
        await RuleAsync(school.Office.EnterAsync(young.Id, Tuesday), "pupil_too_young", "start");
        await RuleAsync(school.Office.EnterAsync(school.PupilId, Tuesday, ("carId", manual), ("gearbox", "automatic")), "gearbox_mismatch", "carId");
        await RuleAsync(
            school.Office.EnterAsync(school.PupilId, Tuesday, ("result", new { passed = true, driving = 1, serious = 0, dangerous = 0 })), "test_not_taken", "start");
        Assert.Equal(["nation"], await (await school.Office.EnterAsync(school.PupilId, Tuesday, ("nation", "northern-ireland"))).WrongFieldsAsync());
        Assert.Equal(["nation"], await (await school.Office.EnterAsync(school.PupilId, Tuesday, ("nation", "atlantis"))).WrongFieldsAsync());
        Assert.Equal(["start"], await (await school.Office.EnterAsync(school.PupilId, London(2036, 4, 15, 10))).WrongFieldsAsync());
        Assert.Equal(["leadMinutes"], await (await school.Office.EnterAsync(school.PupilId, Tuesday, ("leadMinutes", 999))).WrongFieldsAsync());
        Assert.Equal(["carId"], await (await school.Office.EnterAsync(school.PupilId, Tuesday, ("carId", manual), ("ownCar", true))).WrongFieldsAsync());
        Assert.Equal(["centre"], await (await school.Office.EnterAsync(school.PupilId, Tuesday, ("centre", null))).WrongFieldsAsync());
        Assert.Equal(0, (await school.Office.GetJsonAsync(TestDayApi.Path)).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task What_the_papers_of_the_car_say_about_the_day_is_warned_of()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var car = await CarAsync(school);
        await school.Host.WithDbAsync(async db =>
        {
            var row = await db.Set<Car>().SingleAsync(c => c.Id == car);
            (row.FirstRegistered, row.MotExpires, row.TaxExpires, row.InsuranceExpires) = (new(2022, 3, 1), new(2026, 4, 13), new(2026, 4, 13), new(2026, 4, 13));
            row.OffRoad.Add(new() { CarId = car, StartsAt = Tuesday, EndsAt = null, Reason = "clutch" });
            return await db.SaveChangesAsync();
        });

        var test = await school.Office.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("carId", car));

        Assert.Equal(["car_insured", "car_mot", "car_off_road", "car_taxed", "insurance_not_seen"], test.Warnings().Order(StringComparer.Ordinal));
        var waiting = (await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray().Single(i => i.Word("kind") == "test_day");
        Assert.Contains("has no MOT on that date", waiting.Word("sentence"), StringComparison.Ordinal);
        // The pupil is not told of the school's papers.
        Assert.Empty((await school.Pupil.GetJsonAsync($"{TestDayApi.Path}/{test.Id()}")).Warnings());
    }

    [Fact]
    public async Task Drives_that_do_not_fit_and_time_off_are_warned_of()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var far = await school.Host.Data.PupilAsync("Corin Vale", TestData.PlaceAt(100));
        await school.Office.BookedAsync(far.Id, school.InstructorId, London(2026, 4, 14, 12, 15));

        var test = await school.Office.EnteredAsync(
            school.PupilId, London(2026, 4, 14, 11, 10), ("instructorId", school.InstructorId), ("ownCar", true), ("leadMinutes", 1), ("tailMinutes", 1), ("endsAtPickUp", true));

        Assert.Contains("lead_too_short", test.Warnings());
        Assert.Contains("tail_too_short", test.Warnings());
        Assert.Contains("drive_too_tight", (await school.Office.EnteredAsync(
            (await school.Host.Data.PupilAsync("Linnet Brook")).Id, London(2026, 4, 14, 13, 17), ("instructorId", school.InstructorId), ("ownCar", true), ("leadMinutes", 1))).Warnings());
        // Of a lesson beside it that begins and ends at a place to be found no minutes are told.
        await school.Host.WithDbAsync(db => db.Set<Modules.Diary.Lessons.Lesson>().ExecuteUpdateAsync(
            set => set.SetProperty(l => l.PickUp.Certainty, PlaceCertainty.ToBeFound).SetProperty(l => l.DropOff.Certainty, PlaceCertainty.ToBeFound)));
        foreach (var id in (await school.Office.GetJsonAsync(TestDayApi.Path)).GetProperty("items").EnumerateArray().Select(one => one.Id()))
        {
            var read = await school.Office.GetJsonAsync($"{TestDayApi.Path}/{id}");
            Assert.DoesNotContain("drive_too_tight", read.Warnings());
            Assert.Contains("place_to_find", read.Warnings());
            Assert.Contains("Mill Lane is, is still to be found, so the drive", read.GetRawText(), StringComparison.Ordinal);
        }

        await school.Host.AddAsync(new TimeOffRow { InstructorId = school.InstructorId, StartsAt = London(2026, 4, 14, 11), EndsAt = London(2026, 4, 14, 12), Reason = "dentist" });
        Assert.Contains("instructor_off", (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{test.Id()}")).Warnings());
    }

    [Fact]
    public async Task A_pupil_enters_their_own_and_takes_nobodys_time_but_theirs()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.PupilAsync("Corin Vale");

        var test = await school.Pupil.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("insuredForTest", true));

        Assert.Null(test.Word("instructorId"));
        Assert.Null(test.Word("insuredForTestSeenOn"));
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.EnterAsync(other.Id, Tuesday)).StatusCode);
        await school.Office.BookedAsync(other.Id, school.InstructorId, London(2026, 4, 14, 10));
        Assert.Contains("car_not_settled", (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{test.Id()}")).Warnings());

        // The school settles who goes along; when the pupil then moves it, that is open again.
        await (await school.Office.ChangeAsync(test.Id(), school.PupilId, Tuesday + Duration.FromDays(1), ("instructorId", school.InstructorId), ("ownCar", true))).JsonAsync();
        var kept = await (await school.Pupil.ChangeAsync(test.Id(), school.PupilId, Tuesday + Duration.FromDays(1), ("reference", "41000007"))).JsonAsync();
        Assert.Equal(school.InstructorId, kept.Id("instructorId"));
        var moved = await (await school.Pupil.ChangeAsync(test.Id(), school.PupilId, Tuesday + Duration.FromDays(2))).JsonAsync();
        Assert.Null(moved.Word("instructorId"));
    }

    [Fact]
    public async Task Only_the_pupil_their_instructor_whoever_goes_along_and_the_office_see_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var stranger = await school.Host.Data.InstructorAsync("Basil Thornby");
        using var strange = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(stranger));
        using var otherPupil = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Corin Vale")));
        var id = (await school.Instructor.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("ownCar", true))).Id();

        foreach (var (api, sees) in new[] { (school.Pupil, true), (school.Instructor, true), (school.Office, true), (strange, false), (otherPupil, false) })
        {
            Assert.Equal(sees ? HttpStatusCode.OK : HttpStatusCode.NotFound, (await api.GetAsync($"{TestDayApi.Path}/{id}")).StatusCode);
            Assert.Equal(sees ? 1 : 0, (await api.GetJsonAsync(TestDayApi.Path)).GetProperty("items").GetArrayLength());
        }

        Assert.Equal(HttpStatusCode.NotFound, (await strange.ResultAsync(id, true, 0)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await strange.ChangeAsync(id, school.PupilId, Tuesday)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await strange.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{id}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await strange.EnterAsync(school.PupilId, Tuesday)).StatusCode);
        Assert.Equal(["instructorId"], await (await school.Instructor.EnterAsync(school.PupilId, Tuesday, ("instructorId", stranger.Id))).WrongFieldsAsync());
    }

    [Fact]
    public async Task A_stale_or_missing_version_changes_nothing()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.EnteredAsync(school.PupilId, Tuesday)).Id();
        var body = TestDayApi.Body(school.PupilId, Tuesday, ("reference", "41000007"));

        Assert.Equal((HttpStatusCode)428, (await school.Office.SendJsonAsync(HttpMethod.Put, $"{TestDayApi.Path}/{id}", body)).StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Office.SendJsonAsync(HttpMethod.Put, $"{TestDayApi.Path}/{id}", body, etag: "\"7\"")).StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{id}", etag: "\"7\"")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await school.Office.SendJsonAsync(HttpMethod.Put, $"{TestDayApi.Path}/{id}", body, etag: "\"1\"")).StatusCode);
    }

    [Fact]
    public async Task The_school_sets_the_minutes_and_days()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var settings = new { leadMinutes = 90, testMinutes = 70, tailMinutes = 10, noticeDays = 3, retestDays = 5 };
        await (await school.Office.SendJsonAsync(HttpMethod.Put, $"{TestDayApi.Path}/settings", settings, etag: "\"1\"")).JsonAsync();
        Assert.Equal(
            ["noticeDays", "testMinutes"],
            await (await school.Office.SendJsonAsync(HttpMethod.Put, $"{TestDayApi.Path}/settings", settings with { testMinutes = 5, noticeDays = 90 }, etag: "*")).WrongFieldsAsync());

        var test = await school.Office.EnteredAsync(school.PupilId, Tuesday);

        Assert.Equal((London(2026, 4, 14, 8, 44), London(2026, 4, 14, 11, 34)), (test.Moment("blockedFrom"), test.Moment("blockedUntil")));
        // The sheet's row for three days: Thursday 9 April.
        Assert.Equal("2026-04-09", test.Word("lastFreeDay"));
    }

    private static async Task RuleAsync(Task<HttpResponseMessage> asked, string code, string field)
    {
        var answer = await (await asked).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(code, answer.Word("code"));
        Assert.Equal([field], answer.GetProperty("errors").EnumerateObject().Select(e => e.Name));
    }

    private static Task<Guid> CarAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Car>().Where(c => c.Gearbox == Gearbox.Manual).Select(c => c.Id).FirstAsync());

    private static LocalDate LocalDateOf(string text) => NodaTime.Text.LocalDatePattern.Iso.Parse(text).Value;
}
