using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Syllabus.Lessons;

/// <summary>The record of a lesson over HTTP: what it takes, what it refuses, who reads which part, what its history keeps.</summary>
public sealed class LessonRecordTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task A_record_keeps_all_that_was_written_and_the_pupil_reads_the_shared_part_at_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        await (await RecordAsync(school.Instructor, id, new
        {
            minutesTaught = 55,
            note = "Mirrors came by themselves.",
            levels = new[] { new { skill = "roundabouts", level = "helped" }, new { skill = "mirrors", level = "independent" } },
            aim = "Two roundabouts without a prompt.",
            privateNote = "Tired today.",
            routeKind = "quietStreets",
            miles = 12.5,
        })).JsonAsync();

        var staff = await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/record");
        Assert.Equal(["mirrors:independent:", "roundabouts:helped:"], Levels(staff));
        Assert.Equal(("Mirrors came by themselves.", "Two roundabouts without a prompt.", "Tired today.", "quietStreets"),
            (staff.Word("note"), staff.Word("aim"), staff.Word("privateNote"), staff.Word("routeKind")));
        Assert.Equal(12.5m, staff.GetProperty("miles").GetDecimal());

        var answer = await school.Pupil.GetAsync($"/api/v1/lessons/{id}/record");
        var shared = await answer.JsonAsync();
        Assert.Equal(Levels(staff), Levels(shared));
        Assert.Equal("Two roundabouts without a prompt.", shared.Word("aim"));
        Assert.DoesNotContain("Tired today", shared.GetRawText(), StringComparison.Ordinal);
        Assert.All(["privateNote", "routeKind", "miles"], member => Assert.Equal(JsonValueKind.Null, shared.GetProperty(member).ValueKind));
        Assert.Equal(Version(await school.Pupil.GetAsync($"/api/v1/lessons/{id}")), Version(answer));
    }

    [Fact]
    public async Task Nothing_is_needed_but_the_minutes()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        var before = await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/record");
        Assert.Equal(("booked", JsonValueKind.Null), (before.Word("state"), before.GetProperty("minutesTaught").ValueKind));
        await (await RecordAsync(school.Instructor, id, new { minutesTaught = 60 })).JsonAsync();
        var record = await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/record");
        Assert.Equal(60, record.GetProperty("minutesTaught").GetInt32());
        Assert.Empty(Levels(record));
    }

    [Fact]
    public async Task A_level_tells_where_it_came_from_and_may_go_down()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        foreach (var (day, level) in new[] { (5, "helped"), (6, "independent"), (9, "prompted") })
        {
            var id = await TaughtHourAsync(school, London(2026, 3, day, 10));
            await (await RecordAsync(school.Instructor, id, new { minutesTaught = 60, levels = new[] { new { skill = "signals", level } } })).JsonAsync();
            var told = Levels(await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/record"));
            Assert.Equal([day switch { 5 => "signals:helped:", 6 => "signals:independent:helped", _ => "signals:prompted:independent" }], told);
        }
    }

    [Fact]
    public async Task Putting_a_record_right_keeps_how_it_stood_and_who_left_it_so()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        await (await RecordAsync(school.Instructor, id, new { minutesTaught = 50, note = "First.", levels = new[] { new { skill = "parking", level = "introduced" } } })).JsonAsync();
        await (await RecordAsync(school.Office, id, new { minutesTaught = 60, note = "Second.", aim = "Bay parking." })).JsonAsync();

        var states = (await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/record/changes")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(["Marigold Ashby", "Rosalind Pike"], states.Select(state => state.Word("by")));
        var (first, second) = (states[0].GetProperty("content"), states[1].GetProperty("content"));
        Assert.Equal((50, "First.", 1), (first.GetProperty("minutesTaught").GetInt32(), first.Word("note"), first.GetProperty("levels").GetArrayLength()));
        Assert.Equal((60, "Bay parking.", 0), (second.GetProperty("minutesTaught").GetInt32(), second.Word("aim"), second.GetProperty("levels").GetArrayLength()));
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.GetAsync($"/api/v1/lessons/{id}/record/changes")).StatusCode);

        var change = await Assert.ThrowsAnyAsync<Exception>(() => school.Host.WithDbAsync(db => db.Set<LessonRecordChange>().ExecuteDeleteAsync()));
        Assert.Matches("are only ever added|permission denied", $"{change.Message} {change.InnerException?.Message}");
    }

    [Fact]
    public async Task Sent_twice_it_is_kept_once_and_on_a_stale_version_another_record_is_refused()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        var body = new { minutesTaught = 60, note = "Fine.", levels = new[] { new { skill = "mirrors", level = "helped" } }, miles = 3 };
        var first = await RecordAsync(school.Instructor, id, body, "\"1\"");
        var again = await RecordAsync(school.Instructor, id, body, "\"1\"");
        Assert.Equal((HttpStatusCode.OK, HttpStatusCode.OK), (first.StatusCode, again.StatusCode));
        Assert.Equal(first.Headers.ETag, again.Headers.ETag);
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<LessonRecordChange>().CountAsync(c => c.LessonId == id)));

        Assert.Equal("stale", await (await RecordAsync(school.Office, id, new { minutesTaught = 60, note = "Mine." }, "\"1\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        Assert.Equal("Fine.", (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/record")).Word("note"));
        await (await RecordAsync(school.Office, id, body, first.Headers.ETag!.Tag)).JsonAsync();
        Assert.NotEqual(first.Headers.ETag, (await school.Office.GetAsync($"/api/v1/lessons/{id}/record")).Headers.ETag);
    }

    [Fact]
    public async Task Two_who_record_at_once_make_one_record()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        var answers = await Task.WhenAll(Enumerable.Range(1, 6).Select(n =>
            RecordAsync(n % 2 == 0 ? school.Office : school.Instructor, id, new { minutesTaught = 50 + n }, "\"1\"")));
        Assert.Single(answers, answer => answer.StatusCode == HttpStatusCode.OK);
        Assert.All(answers.Where(answer => answer.StatusCode != HttpStatusCode.OK), answer => Assert.Equal(HttpStatusCode.PreconditionFailed, answer.StatusCode));
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<LessonRecordChange>().CountAsync(c => c.LessonId == id)));
    }

    [Fact]
    public async Task A_colleague_reads_for_a_reason_what_a_lesson_left_behind_and_cannot_change_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 + Duration.FromHours(1));
        await (await RecordAsync(school.Instructor, id, new { minutesTaught = 60, privateNote = "Tires after an hour." })).JsonAsync();
        using var colleague = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Basil Thornby")));
        Assert.Equal("reason_needed", await (await colleague.GetAsync($"/api/v1/lessons/{id}/record")).CodeAsync(HttpStatusCode.Forbidden));
        await (await colleague.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{school.PupilId}/access", new { reason = "Covers for Marigold today." })).JsonAsync(HttpStatusCode.Created);
        var read = await colleague.GetJsonAsync($"/api/v1/lessons/{id}/record");
        Assert.Equal("Tires after an hour.", read.GetProperty("privateNote").GetString());
        Assert.Equal(HttpStatusCode.NotFound, (await RecordAsync(colleague, id, new { minutesTaught = 30 })).StatusCode);
    }

    [Fact]
    public async Task A_lesson_not_begun_or_cancelled_or_of_another_instructor_takes_no_record()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal("lesson_not_begun", await (await RecordAsync(school.Instructor, id, new { minutesTaught = 60 })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        school.Host.Clock.Reset(Thursday10 + Duration.FromHours(1));
        using var foreign = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Basil Thornby")));
        Assert.Equal(HttpStatusCode.NotFound, (await RecordAsync(foreign, id, new { minutesTaught = 60 })).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await foreign.GetAsync($"/api/v1/lessons/{id}/record/changes")).StatusCode);
        await (await school.Office.CancelAsync(id, "weather")).JsonAsync();
        Assert.Equal("lesson_cancelled", await (await RecordAsync(school.Instructor, id, new { minutesTaught = 60 })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<LessonRecord>().CountAsync()));
    }

    [Fact]
    public async Task What_cannot_be_is_told_by_field_and_nothing_is_kept()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        (object Body, string Field)[] wrong =
        [
            (new { minutesTaught = 61 }, "minutesTaught"),
            (new { minutesTaught = 0 }, "minutesTaught"),
            (new { minutesTaught = 60, note = new string('n', 1001) }, "note"),
            (new { minutesTaught = 60, aim = new string('a', 1001) }, "aim"),
            (new { minutesTaught = 60, privateNote = new string('p', 1001) }, "privateNote"),
            (new { minutesTaught = 60, miles = -1 }, "miles"),
            (new { minutesTaught = 60, miles = 301 }, "miles"),
            (new { minutesTaught = 60, miles = 1.25 }, "miles"),
            (new { minutesTaught = 60, levels = new[] { new { skill = "mirrors" } } }, "levels[0].level"),
            (new { minutesTaught = 60, levels = new[] { new { level = "helped" } } }, "levels"),
            (new { minutesTaught = 60, levels = new[] { new { skill = "mirrors", level = "helped" }, new { skill = "mirrors", level = "prompted" } } }, "levels"),
        ];
        foreach (var (body, field) in wrong)
        {
            var told = await (await RecordAsync(school.Instructor, id, body)).JsonAsync(HttpStatusCode.BadRequest);
            Assert.True(told.GetProperty("errors").TryGetProperty(field, out _), told.GetRawText());
        }

        Assert.Equal(HttpStatusCode.BadRequest, (await RecordAsync(school.Instructor, id, new { minutesTaught = 60, routeKind = "moon" })).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await RecordAsync(school.Instructor, id, new { minutesTaught = 60, levels = new[] { new { skill = "mirrors", level = "expert" } } })).StatusCode);
        Assert.Equal("booked", (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}")).Word("state"));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<LessonRecord>().CountAsync()));
    }

    [Fact]
    public async Task A_retired_skill_is_refused_by_name_in_a_new_record_and_kept_in_an_old_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var old = await TaughtHourAsync(school);
        var retired = new { minutesTaught = 60, levels = new[] { new { skill = "motorways", level = "introduced" } } };
        await (await RecordAsync(school.Instructor, old, retired)).JsonAsync();
        await RetireAsync(school.Host, "motorways");

        var later = await TaughtHourAsync(school, London(2026, 3, 6, 10));
        var refused = await (await RecordAsync(school.Instructor, later, retired)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal("skill_retired", refused.Word("code"));
        Assert.StartsWith("“Motorways” is no longer in the syllabus", refused.Word("detail"), StringComparison.Ordinal);
        var unknown = new { minutesTaught = 60, levels = new[] { new { skill = "hovering", level = "introduced" } } };
        Assert.Equal("skill_unknown", await (await RecordAsync(school.Instructor, later, unknown)).CodeAsync(HttpStatusCode.UnprocessableEntity));

        var amended = new { minutesTaught = 55, levels = new[] { new { skill = "motorways", level = "helped" } } };
        await (await RecordAsync(school.Instructor, old, amended)).JsonAsync();
        var record = await school.Pupil.GetJsonAsync($"/api/v1/lessons/{old}/record");
        Assert.Equal((1, "motorways:helped:"), (record.GetProperty("edition").GetInt32(), Assert.Single(Levels(record))));
    }

    [Fact]
    public async Task A_pupil_reflects_on_a_taught_lesson_and_the_instructors_open_record_stays_good()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        Assert.Equal("lesson_not_taught", await (await ReflectAsync(school.Pupil, id, "Hm.")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var recorded = await RecordAsync(school.Instructor, id, new { minutesTaught = 60 });
        var etag = recorded.Headers.ETag!.Tag;

        var kept = await (await ReflectAsync(school.Pupil, id, "Slower before the turn \U0001F697")).JsonAsync();
        Assert.Equal("Slower before the turn \U0001F697", kept.Word("reflection"));
        await (await RecordAsync(school.Instructor, id, new { minutesTaught = 58, aim = "Left turns." }, etag)).JsonAsync();
        var seen = await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/record");
        Assert.Equal(("Slower before the turn \U0001F697", "Left turns."), (seen.Word("reflection"), seen.Word("aim")));

        Assert.Equal(HttpStatusCode.NotFound, (await ReflectAsync(school.Instructor, id, "Not mine")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await ReflectAsync(school.Pupil, id, new string('r', 1001))).StatusCode);
        Assert.Equal("stale", await (await ReflectAsync(school.Pupil, id, "Late", "\"1\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        using var other = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Corin Vale")));
        Assert.Equal(HttpStatusCode.NotFound, (await ReflectAsync(other, id, "Mine?")).StatusCode);
    }

    [Fact]
    public async Task A_lesson_recorded_before_there_were_levels_takes_a_reflection_too()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        await (await RecordAsync(school.Instructor, id, new { minutesTaught = 60 })).JsonAsync();
        await school.Host.WithDbAsync(db => db.Set<LessonRecord>().ExecuteDeleteAsync());
        Assert.Equal("Calm.", (await (await ReflectAsync(school.Pupil, id, "Calm.")).JsonAsync()).Word("reflection"));
    }

    /// <summary>The id of a lesson of an hour that has just ended.</summary>
    internal static async Task<Guid> TaughtHourAsync(SmallSchool school, Instant? at = null)
    {
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, at ?? Thursday10)).Id();
        school.Host.Clock.Reset((at ?? Thursday10) + Duration.FromHours(1));
        return id;
    }

    internal static Task<HttpResponseMessage> RecordAsync(HttpClient api, Guid lesson, object body, string etag = "*") =>
        api.SendJsonAsync(HttpMethod.Put, $"/api/v1/lessons/{lesson}/record", body, etag: etag);

    internal static Task<HttpResponseMessage> ReflectAsync(HttpClient api, Guid lesson, string reflection, string etag = "*") =>
        api.SendJsonAsync(HttpMethod.Put, $"/api/v1/lessons/{lesson}/reflection", new { reflection }, etag: etag);

    private static string[] Levels(JsonElement record) =>
        [.. record.GetProperty("levels").EnumerateArray().Select(level => $"{level.Word("skill")}:{level.Word("level")}:{level.Word("before")}")];

    /// <summary>A second edition without a skill.</summary>
    private static async Task RetireAsync(SchoolHost host, string key)
    {
        var first = SyllabusDefaults.GreatBritain();
        var groups = first.Groups.Select(group => group with { Skills = [.. group.Skills.Where(skill => skill.Key != key)] }).Where(group => group.Skills.Count > 0);
        await host.AddAsync(KeptEdition.Of(new SyllabusEdition(2, [.. groups]), host.Clock.GetCurrentInstant(), "Rosalind Pike", "One skill fewer."));
    }

    private static string Version(HttpResponseMessage answer) => answer.Headers.ETag!.Tag.Trim('"').Split('.')[0];
}
