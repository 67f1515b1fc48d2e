using System.Net;
using System.Text.Json;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus;

/// <summary>How an instructor's pupils stand. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class OverviewTests(TestPostgres postgres)
{
    [Fact]
    public async Task An_instructor_sees_own_pupils_and_those_taught_lately_with_levels_stale_skills_tests_and_rate()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (marigold, other) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Alder Fenwick"));
        var tamsin = await host.Data.PupilAsync(instructor: marigold.Id);
        var idris = await host.Data.PupilAsync("Idris Vale", instructor: other.Id);
        var bryony = await host.Data.PupilAsync("Bryony Marsh", instructor: other.Id);
        await TaughtAsync(host, tamsin, marigold, daysAgo: 60, 120, ("signals", SkillLevel.Prompted), ("security", SkillLevel.Helped));
        await TaughtAsync(host, tamsin, marigold, daysAgo: 7, 60, ("signals", SkillLevel.Independent));
        await TaughtAsync(host, idris, marigold, daysAgo: 6, 60, ("signals", SkillLevel.Introduced));
        // Of somebody else's pupil whom she taught longer ago than a week she sees the name alone.
        await TaughtAsync(host, bryony, marigold, daysAgo: 14, 60);
        await TestAsync(host, tamsin, marigold, daysAhead: -20, passed: false);
        await TestAsync(host, tamsin, marigold, daysAhead: 30, passed: null);
        await TestAsync(host, idris, other, daysAhead: -10, passed: true);

        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(marigold));
        var learning = await (await api.GetAsync($"/api/v1/instructors/{marigold.Id}/learning")).JsonAsync();
        var pupils = learning.GetProperty("pupils").EnumerateArray().ToDictionary(p => p.GetProperty("name").GetString()!);
        Assert.Equal(["Idris Vale", "Tamsin Oakley"], pupils.Keys.Order());
        Assert.Equal(180, pupils["Tamsin Oakley"].GetProperty("minutesTaught").GetInt32());
        Assert.Equal("2026-04-01", pupils["Tamsin Oakley"].GetProperty("testOn").GetString());
        Assert.Equal(["security"], pupils["Tamsin Oakley"].GetProperty("staleSkills").EnumerateArray().Select(skill => skill.GetString()!));
        var signals = learning.GetProperty("skills").EnumerateArray().Single(skill => skill.GetProperty("skill").GetString() == "signals");
        Assert.Equal((0, 1, 1, 180, 1), (Number(signals, "notStarted"), Number(signals, "introduced"), Number(signals, "independent"), Number(signals, "averageMinutesToIndependent"), Number(signals, "pupilsIndependent")));
        var tests = learning.GetProperty("tests");
        Assert.Equal((1, 0), (Number(tests, "taken"), Number(tests, "passed")));
        Assert.Equal(0, tests.GetProperty("low").GetDouble());
        // No hit in one case: z²/(1 + z²).
        Assert.Equal(0.7935, tests.GetProperty("high").GetDouble(), 0.0001);

        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/instructors/{other.Id}/learning")).StatusCode);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var others = await (await office.GetAsync($"/api/v1/instructors/{other.Id}/learning")).JsonAsync();
        Assert.Equal((1, 1), (Number(others.GetProperty("tests"), "taken"), Number(others.GetProperty("tests"), "passed")));
    }

    [Fact]
    public async Task Without_a_result_there_is_nothing_to_tell()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(instructor));
        var tests = (await (await api.GetAsync($"/api/v1/instructors/{instructor.Id}/learning")).JsonAsync()).GetProperty("tests");
        Assert.Equal(JsonValueKind.Null, tests.GetProperty("low").ValueKind);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("there is nothing to tell", await (await pages.GetAsync("/syllabus/overview")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_subject_lists_its_pupils_with_their_level_in_words()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        await host.Data.PupilAsync("Idris Vale", instructor: instructor.Id);
        await TaughtAsync(host, pupil, instructor, daysAgo: 20, 60, ("signals", SkillLevel.Prompted));
        await TaughtAsync(host, pupil, instructor, daysAgo: 10, 60, ("signals", SkillLevel.Helped));
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));
        var page = await (await pages.GetAsync("/syllabus/overview?skill=signals")).TextAsync();
        Assert.Contains("Helped ▼ went down", page, StringComparison.Ordinal);
        Assert.Contains("Not started", page, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await pages.GetAsync("/syllabus/overview?skill=no-such-skill")).StatusCode);
    }

    private static int Number(JsonElement of, string name) => of.GetProperty(name).GetInt32();

    private static async Task TaughtAsync(SchoolHost host, Pupil pupil, Instructor instructor, int daysAgo, int minutes, params (string Skill, SkillLevel Level)[] levels)
    {
        var start = host.Clock.GetCurrentInstant() - Duration.FromDays(daysAgo);
        var lesson = Lesson.Book(
            pupil.Id, instructor.Id, (await host.Data.CarAsync()).Id, new(start, start + Duration.FromMinutes(minutes)), pupil.PickUp, pupil.PickUp, start);
        Assert.Null(lesson.Record(minutes, "", host.Clock.GetCurrentInstant()));
        await host.AddAsync(lesson);
        await host.AddAsync(new LessonRecord
        {
            LessonId = lesson.Id,
            PupilId = pupil.Id,
            Edition = 1,
            Levels = [.. levels.Select(level => new LevelGiven { Skill = level.Skill, Level = level.Level })],
            RecordedAt = start,
            RecordedBy = instructor.Id,
        });
    }

    private static async Task TestAsync(SchoolHost host, Pupil pupil, Instructor instructor, int daysAhead, bool? passed)
    {
        var facts = new TestDayFacts(
            host.Clock.GetCurrentInstant() + Duration.FromDays(daysAhead), Duration.FromMinutes(40), 60, 20, TestData.PlaceAt(), Nation.EnglandAndWales, pupil.PickUp, false, "",
            pupil.Gearbox!.Value, instructor.Id, null, OwnCar: true);
        var test = TestDay.Enter(pupil.Id, facts, host.Clock.GetCurrentInstant());
        if (passed is { } result)
        {
            test.Record(TestEnding.Completed, result, new TestMarks(3, result ? 0 : 1, 0), [], 0, 0, "");
        }

        await host.AddAsync(test);
    }
}
