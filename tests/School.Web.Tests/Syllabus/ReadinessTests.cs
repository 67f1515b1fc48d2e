using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Mocks;
using School.Core.Syllabus.Readiness;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus;

public sealed class ReadinessTests(TestPostgres postgres)
{
    private const string Caution = "This is arithmetic. The instructor decides.";

    private static readonly IReadOnlyList<string> Counted = FinishedCourses.Counted;

    [Fact]
    public async Task A_pupil_without_lessons_gets_the_published_average_wide_and_without_weeks()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.ShareForecastAsync(pupil);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var read = await ReadAsync(api, pupil);
        var (low, median, high) = Range(read.GetProperty("lessonMinutesToGo"));
        Assert.InRange(median, 38 * 60, 45 * 60);
        Assert.True(high > 2.5 * low);
        Assert.Equal(JsonValueKind.Null, read.GetProperty("weeksToGo").ValueKind);
        Assert.Contains("no pace", read.GetProperty("whyNoWeeks").GetString(), StringComparison.Ordinal);
        Assert.Equal((23, 0, 0), (read.GetProperty("skillsCounted").GetInt32(), read.GetProperty("skillsThere").GetInt32(), read.GetProperty("minutesTaught").GetInt32()));
        Assert.Equal(Caution, read.GetProperty("caution").GetString());
    }

    [Fact]
    public async Task The_answer_is_that_of_the_rules_for_the_lessons_recorded()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var teacher = await host.TeacherAsync();
        await host.TeachAsync(teacher, pupil, 12, new(2025, 12, 8), i => 1 + (i / 4));
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(teacher.Instructor));
        var read = await ReadAsync(api, pupil);

        // Three marks of level 1, 2 and 3 on each skill, hour by hour.
        var course = new Course([.. Enumerable.Range(0, 12).Select(i => new TaughtLesson(new LocalDate(2025, 12, 8).PlusWeeks(i), 60, All(1 + (i / 4))))], []);
        var terms = new ReadinessTerms([.. Counted]);
        var expected = ReadinessForecast.Of(course, new(2026, 3, 2), terms, Experience.Of(terms, []));
        Assert.Equal(Math.Round(expected.LessonHours.Median * 60), read.GetProperty("lessonMinutesToGo").GetProperty("median").GetDouble());
        Assert.Equal(Math.Round(expected.Weeks!.Value.High, 1), read.GetProperty("weeksToGo").GetProperty("high").GetDouble());
        Assert.Equal(0.75, read.GetProperty("progress").GetDouble());
        Assert.Equal((12, 23), (read.GetProperty("history").GetArrayLength(), read.GetProperty("open").GetArrayLength()));
        Assert.Equal(0.5, read.GetProperty("practiceWeight").GetDouble());
    }

    [Fact]
    public async Task The_page_says_it_in_words_with_the_range_the_open_skills_and_who_decides()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var teacher = await host.TeacherAsync();
        await host.TeachAsync(teacher, pupil, 12, new(2025, 12, 8), _ => 3);
        await host.ShareForecastAsync(pupil);
        foreach (var person in new[] { await host.Data.PersonAsync(pupil), await host.Data.PersonAsync(teacher.Instructor), await host.Data.OfficeAsync() })
        {
            using var pages = await host.PagesAsAsync(person);
            var text = await (await pages.GetAsync($"/syllabus/readiness/{pupil.Id}")).TextAsync();
            Assert.Contains(Caution, text, StringComparison.Ordinal);
            Assert.Contains("four pupils in five", text, StringComparison.Ordinal);
            Assert.Contains("1 hour a week", text, StringComparison.Ordinal);
            Assert.Contains("0 of 23 skills", text, StringComparison.Ordinal);
            Assert.Contains("Roundabouts", text, StringComparison.Ordinal);
            Assert.Contains("It does not wait for: Motorways", text, StringComparison.Ordinal);
            Assert.Contains("<svg class=\"growth\"", text, StringComparison.Ordinal);
            Assert.Equal((person.Parts != OfficeParts.None), text.Contains("/syllabus/backtest", StringComparison.Ordinal));
        }
    }

    [Fact]
    public async Task A_pupil_ready_on_the_record_has_nothing_to_go_and_is_still_not_given_a_green_light()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.TeachAsync(await host.TeacherAsync(), pupil, 4, new(2025, 9, 1), _ => 4);
        await host.ShareForecastAsync(pupil);
        var person = await host.Data.PersonAsync(pupil);
        using var api = await host.ApiAsAsync(person);
        var read = await ReadAsync(api, pupil);
        Assert.True(read.GetProperty("readyOnRecord").GetBoolean());
        Assert.Equal((0, 0, 0), Range(read.GetProperty("lessonMinutesToGo")));

        // Half a year ago: every skill is stale.
        Assert.Equal(23, read.GetProperty("stale").GetArrayLength());
        using var pages = await host.PagesAsAsync(person);
        var text = await (await pages.GetAsync($"/syllabus/readiness/{pupil.Id}")).TextAsync();
        Assert.Contains("stands at Independent or better", text, StringComparison.Ordinal);
        Assert.Contains("Not practised for a while", text, StringComparison.Ordinal);
        Assert.Contains(Caution, text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Somebody_elses_readiness_is_not_found_and_the_backtest_is_for_the_office()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var stranger = await host.Data.PersonAsync(await host.Data.PupilAsync("Bryony Vale"));
        using var api = await host.ApiAsAsync(stranger);
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/pupils/{pupil.Id}/readiness")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await api.GetAsync("/api/v1/syllabus/backtest")).StatusCode);
        using var pages = await host.PagesAsAsync(stranger);
        Assert.Equal(HttpStatusCode.NotFound, (await pages.GetAsync($"/syllabus/readiness/{pupil.Id}")).StatusCode);
    }

    [Fact]
    public async Task The_backtest_sets_what_would_have_been_said_of_passed_pupils_beside_what_came_true()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.TeacherAsync();
        var (quick, slow) = (await host.Data.PupilAsync("Corin Marsh"), await host.Data.PupilAsync("Linnet Brook"));
        await host.TeachAsync(teacher, quick, 24, new(2025, 1, 6), i => 1 + (i * 3 / 23));
        await host.TeachAsync(teacher, slow, 40, new(2025, 1, 7), _ => 3);
        await host.PassAsync(quick, new(2025, 7, 1));
        await host.PassAsync(slow, new(2025, 11, 3));
        await host.PassAsync(await host.Data.PupilAsync("Sorrel Finch"), new(2025, 12, 1));

        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var read = await (await office.GetAsync("/api/v1/syllabus/backtest")).JsonAsync();
        Assert.Equal(2, read.GetProperty("finishedPupils").GetInt32());
        Assert.Contains("2 finished pupils say little", read.GetProperty("weight").GetString(), StringComparison.Ordinal);
        Assert.Equal([0, 1, 2, 3], read.GetProperty("quarters").EnumerateArray().Select(q => q.GetProperty("quarter").GetInt32()));
        var came = read.GetProperty("items").EnumerateArray().Where(p => p.GetProperty("pupilId").GetGuid() == quick.Id).Select(p => p.GetProperty("cameToMinutes").GetInt32());
        Assert.Equal([24 * 60, 18 * 60, 12 * 60, 6 * 60], came);

        // One who never stood at Independent everywhere counts up to the test.
        Assert.Contains(read.GetProperty("items").EnumerateArray(), p => p.GetProperty("pupilId").GetGuid() == slow.Id && p.GetProperty("cameToMinutes").GetInt32() == 40 * 60);

        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var text = await (await pages.GetAsync("/syllabus/backtest")).TextAsync();
        Assert.Contains("Corin Marsh", text, StringComparison.Ordinal);
        Assert.Contains("came to 18", text, StringComparison.Ordinal);
        Assert.DoesNotContain("Sorrel Finch", text, StringComparison.Ordinal);
        Assert.Contains("Passed the test on Tuesday 1 July 2025", await (await pages.GetAsync($"/syllabus/readiness/{quick.Id}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Finished_pupils_of_the_school_move_what_it_expects_of_the_next_one_but_never_of_themselves()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.TeacherAsync();
        var (fresh, done) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Marsh"));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var before = Range((await ReadAsync(office, fresh)).GetProperty("lessonMinutesToGo"));
        await host.TeachAsync(teacher, done, 30, new(2024, 1, 8), i => Math.Min(4, 1 + (i / 9)), minutes: 240);
        await host.PassAsync(done, new(2025, 1, 7));
        var after = await ReadAsync(office, fresh);
        Assert.True(Range(after.GetProperty("lessonMinutesToGo")).Median > before.Median);
        Assert.Equal(1, after.GetProperty("finishedPupils").GetInt32());
        Assert.Equal(0, (await ReadAsync(office, done)).GetProperty("finishedPupils").GetInt32());
    }

    [Fact]
    public async Task Without_finished_pupils_the_backtest_says_so()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("Nothing to look back on yet", await (await pages.GetAsync("/syllabus/backtest")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Practice_counts_at_the_schools_weight_and_mock_tests_stand_beside_the_forecast()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.TeachAsync(await host.TeacherAsync(), pupil, 12, new(2025, 12, 8), i => 1 + (i / 4));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var without = Range((await ReadAsync(office, pupil)).GetProperty("lessonMinutesToGo"));
        var drives = Enumerable.Range(0, 11).Select(week => new PrivatePractice
        {
            PupilId = pupil.Id,
            On = new LocalDate(2025, 12, 9).PlusWeeks(week),
            Minutes = 120,
            Supervisor = "Fern Oakley",
            Edition = 1,
            LoggedAt = host.Clock.GetCurrentInstant(),
            LoggedBy = pupil.Name,
        });
        await host.AddAsync([.. drives]);
        await host.AddAsync(new MockTest
        {
            PupilId = pupil.Id,
            On = new(2026, 2, 27),
            Faults = [new() { Number = 1, Heading = "21-observation", Kind = FaultKind.Serious }],
            StartedAt = host.Clock.GetCurrentInstant(),
            RecordedBy = Guid.NewGuid(),
            RecordedByName = "Marigold Ashby",
            FinishedAt = host.Clock.GetCurrentInstant(),
        });
        var read = await ReadAsync(office, pupil);
        Assert.Equal(22 * 60, read.GetProperty("practiceMinutes").GetInt32());
        Assert.NotEqual(without, Range(read.GetProperty("lessonMinutesToGo")));
        await host.ShareForecastAsync(pupil);
        var mock = Assert.Single(read.GetProperty("mocks").EnumerateArray());
        Assert.Equal((1, false), (mock.GetProperty("serious").GetInt32(), mock.GetProperty("passed").GetBoolean()));
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var text = await (await pages.GetAsync($"/syllabus/readiness/{pupil.Id}")).TextAsync();
        Assert.Contains("22 hours", text, StringComparison.Ordinal);
        Assert.Contains("Not passed: a serious fault", text, StringComparison.Ordinal);

        await host.WithDbAsync(db => db.Set<SyllabusSettings>().ExecuteUpdateAsync(set => set.SetProperty(s => s.PracticeWeight, 0)));
        var unweighted = await ReadAsync(office, pupil);
        Assert.Equal(0, unweighted.GetProperty("practiceWeight").GetDouble());
        Assert.NotEqual(Range(read.GetProperty("lessonMinutesToGo")), Range(unweighted.GetProperty("lessonMinutesToGo")));
    }

    private static async Task<JsonElement> ReadAsync(HttpClient api, Pupil pupil)
    {
        var answer = await api.GetAsync($"/api/v1/pupils/{pupil.Id}/readiness");
        Assert.True(answer.StatusCode == HttpStatusCode.OK, await answer.Content.ReadAsStringAsync());
        return await answer.JsonAsync();
    }

    private static (double Low, double Median, double High) Range(JsonElement range) =>
        (range.GetProperty("low").GetDouble(), range.GetProperty("median").GetDouble(), range.GetProperty("high").GetDouble());

    private static List<SkillMark> All(int level) => [.. Counted.Select(skill => new SkillMark(skill, (SkillLevel)level))];
}
