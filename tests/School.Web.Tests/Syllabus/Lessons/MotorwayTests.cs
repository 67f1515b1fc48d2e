using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.TestDays;
using School.Core.Pupils;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.Lessons;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Syllabus.Lessons;

/// <summary>Motorways (The Highway Code, rule 253): an approved instructor and dual controls, or no record of one.</summary>
public sealed class MotorwayTests(TestPostgres postgres)
{
    [Theory]
    [InlineData(RegistrationKind.Trainee, true, "motorway_needs_adi")]
    [InlineData(RegistrationKind.Approved, false, "motorway_needs_dual_controls")]
    public async Task A_motorway_lesson_against_the_rule_is_not_recorded(RegistrationKind registration, bool dualControls, string code)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await LessonRecordTests.TaughtHourAsync(school);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, registration).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await school.Host.WithDbAsync(db => db.Set<Car>().ExecuteUpdateAsync(set => set.SetProperty(c => c.DualControls, dualControls)));
        foreach (var body in new object[]
        {
            new { minutesTaught = 60, routeKind = "motorway" }, new { minutesTaught = 60, levels = new[] { new { skill = "motorways", level = "introduced" } } },
        })
        {
            Assert.Equal(code, await (await LessonRecordTests.RecordAsync(school.Instructor, id, body)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        }

        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<LessonRecord>().CountAsync()));
        await (await LessonRecordTests.RecordAsync(school.Instructor, id, new { minutesTaught = 60, routeKind = "fastRoads" })).JsonAsync();
    }

    // The rule speaks of provisional licences. The lesson is in a manual.
    [Theory]
    [InlineData(LicenceKind.FullManual, true)]
    [InlineData(LicenceKind.FullAutomatic, false)]
    [InlineData(LicenceKind.Provisional, false)]
    public async Task Who_holds_a_full_licence_for_the_car_is_not_bound_by_the_rule(LicenceKind kind, bool free)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await LessonRecordTests.TaughtHourAsync(school);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, RegistrationKind.Trainee).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.LicenceKind, kind)));
        var answer = await LessonRecordTests.RecordAsync(school.Instructor, id, new { minutesTaught = 60, routeKind = "motorway" });
        Assert.Equal(free ? HttpStatusCode.OK : HttpStatusCode.UnprocessableEntity, answer.StatusCode);
    }

    [Theory]
    [InlineData(Gearbox.Manual, true)]
    [InlineData(Gearbox.Automatic, false)]
    public async Task After_a_pass_the_rule_binds_no_more_in_a_car_that_the_pass_allows(Gearbox gearbox, bool free)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await PassAsync(school, gearbox);
        var id = await LessonRecordTests.TaughtHourAsync(school);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, RegistrationKind.Trainee).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        var answer = await LessonRecordTests.RecordAsync(school.Instructor, id, new { minutesTaught = 60, routeKind = "motorway" });
        Assert.Equal(free ? HttpStatusCode.OK : HttpStatusCode.UnprocessableEntity, answer.StatusCode);
    }

    // The Highway Code, Annexes 5 and 8. The pass was on 27 February 2026.
    [Theory]
    [InlineData("fullManual", "2026-03-01", "holder")]
    [InlineData("provisional", "2024-05-04", "holder")]
    [InlineData("provisional", "2026-02-28", "learner")]
    [InlineData("disqualified", null, null)]
    public async Task A_pass_counts_no_more_after_a_disqualification_or_a_provisional_licence_given_since(string kind, string? from, string? drivesAs)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await PassAsync(school, Gearbox.Manual);
        var id = await LessonRecordTests.TaughtHourAsync(school);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, RegistrationKind.Trainee).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await (await school.Office.SendJsonAsync(
            HttpMethod.Put, $"/api/v1/pupils/{school.PupilId}/papers", new { licence = new { kind, validFrom = from, disqualifiedUntil = from is null ? "2027-06-01" : null } }, etag: "*")).JsonAsync();

        var eligibility = await school.Office.GetJsonAsync($"/api/v1/pupils/{school.PupilId}/eligibility");
        Assert.Equal(drivesAs, eligibility.GetProperty("drivesAs").GetString());
        Assert.Equal(drivesAs != "holder", eligibility.GetProperty("papers").EnumerateArray().Any(paper => paper.Word("code") == "theory_missing"));
        var answer = await LessonRecordTests.RecordAsync(school.Instructor, id, new { minutesTaught = 60, routeKind = "motorway" });
        Assert.Equal(drivesAs == "holder" ? HttpStatusCode.OK : HttpStatusCode.UnprocessableEntity, answer.StatusCode);
    }

    [Theory]
    [InlineData(LicenceKind.Provisional, true)]
    [InlineData(LicenceKind.FullManual, false)]
    public async Task Plates_are_told_before_a_lesson_that_was_booked_for_the_motorway_whatever_is_suggested(LicenceKind kind, bool plates)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.LicenceKind, kind)));
        var usual = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10))).Id();
        var lesson = (await (await KindsOfLessonTests.BookAsync(school.Office, school, "motorway", London(2026, 3, 6, 10))).JsonAsync(HttpStatusCode.Created)).Id();
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        async Task<bool> ToldAsync(Guid id) => (await (await office.GetAsync(Modules.Diary.Contracts.LessonPages.Brief(id))).TextAsync()).Contains(MotorwayRule.Plates, StringComparison.Ordinal);

        Assert.Equal((false, plates), (await ToldAsync(usual), await ToldAsync(lesson)));
    }

    // The Highway Code, rule 253: neither suggested nor told where it could not lawfully be given.
    [Theory]
    [InlineData(RegistrationKind.Trainee, true, "motorway_needs_adi")]
    [InlineData(RegistrationKind.Approved, false, "motorway_needs_dual_controls")]
    [InlineData(RegistrationKind.Approved, true, null)]
    public async Task A_motorway_is_suggested_only_where_it_could_be_given(RegistrationKind registration, bool dualControls, string? code)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var taught = await LessonRecordTests.TaughtHourAsync(school);
        await (await LessonRecordTests.RecordAsync(school.Instructor, taught, new { minutesTaught = 60, aim = "A drive on the motorways" })).JsonAsync();
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.NeedsDualControls, false)));
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, registration).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await school.Host.WithDbAsync(db => db.Set<Car>().ExecuteUpdateAsync(set => set.SetProperty(c => c.DualControls, dualControls)));
        var next = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10))).Id();

        foreach (var reader in new[] { school.Instructor, school.Pupil })
        {
            var brief = await reader.GetJsonAsync($"/api/v1/lessons/{next}/brief");
            var suggested = brief.GetProperty("suggested").EnumerateArray().Select(skill => skill.GetProperty("skill").GetString()).ToList();
            Assert.Equal(code is null, suggested.Contains("motorways"));
            Assert.NotEmpty(suggested);
            Assert.Equal(code is not null, brief.GetProperty("blocks").EnumerateArray().Any(block => block.GetProperty("code").GetString() == code));
            Assert.Equal("A drive on the motorways", brief.GetProperty("asked").GetProperty("aim").GetString());
        }

        school.Host.Clock.Reset(London(2026, 3, 5, 19));
        await EveningBriefTests.RunAsync(school);
        var told = Assert.Single(await school.MessagesAsync(next, "lesson_brief"));
        Assert.Equal(code is null, told.Text.Contains("Motorways:", StringComparison.Ordinal));
    }

    [Fact]
    public async Task An_approved_instructor_with_dual_controls_records_a_motorway()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await LessonRecordTests.TaughtHourAsync(school);
        var body = new { minutesTaught = 60, routeKind = "motorway", levels = new[] { new { skill = "motorways", level = "introduced" } } };
        await (await LessonRecordTests.RecordAsync(school.Instructor, id, body)).JsonAsync();
        Assert.Equal(RouteKind.Motorway, (await school.Host.WithDbAsync(db => db.Set<LessonRecord>().SingleAsync())).Route);
    }

    /// <summary>The pupil passed on 27 February 2026.</summary>
    private static async Task PassAsync(SmallSchool school, Gearbox gearbox)
    {
        var start = London(2026, 2, 27, 10, 14);
        var test = TestDay.Enter(
            school.PupilId,
            new(start, Duration.FromMinutes(40), 60, 20, TestData.PlaceAt(), Core.Diary.Time.Nation.EnglandAndWales, TestData.PlaceAt(), false, "", gearbox, null, null, OwnCar: true),
            start - Duration.FromDays(30));
        test.Record(TestEnding.Completed, true, new TestMarks(3, 0, 0), [], 0, 0, "");
        await school.Host.AddAsync(test);
    }
}
