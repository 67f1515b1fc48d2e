using NodaTime;
using Npgsql;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus;

/// <summary>What pupils did is remembered by pupil, and is never older than the last look.</summary>
public sealed class CourseMemoryTests(TestPostgres postgres)
{
    [Fact]
    public async Task What_has_not_changed_is_not_read_again_and_what_another_connection_changes_is()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        var lesson = await TaughtAsync(host, pupil, instructor.Id, daysAgo: 7);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal((60, "Helped"), await ToldAsync(api, instructor.Id));
        using (var asked = new QueryCounter(host.ConnectionString))
        {
            Assert.Equal((60, "Helped"), await ToldAsync(api, instructor.Id));
            Assert.DoesNotContain(asked.Texts, text => text.Contains("lesson_records", StringComparison.Ordinal));
        }

        await RunAsync(host, $"UPDATE diary.lessons SET minutes_taught = 45 WHERE id = '{lesson}'");
        Assert.Equal((45, "Helped"), await ToldAsync(api, instructor.Id));
        await RunAsync(host, """UPDATE syllabus.lesson_records SET levels = '[{"Skill": "signals", "Level": "Prompted"}]'""");
        Assert.Equal((45, "Prompted"), await ToldAsync(api, instructor.Id));
        await TaughtAsync(host, pupil, instructor.Id, daysAgo: 3);
        Assert.Equal((105, "Helped"), await ToldAsync(api, instructor.Id));
        await RunAsync(host, $"DELETE FROM syllabus.lesson_records WHERE lesson_id <> '{lesson}'");
        Assert.Equal((105, "Prompted"), await ToldAsync(api, instructor.Id));
    }

    [Theory]
    [InlineData("diary.lessons", "lessons_raise_learning", "UPDATE diary.lessons SET minutes_taught = 45")]
    [InlineData("syllabus.lesson_records", "lesson_records_raise_learning", """UPDATE syllabus.lesson_records SET levels = '[{"Skill": "signals", "Level": "Prompted"}]'""")]
    public async Task Without_its_trigger_a_change_would_go_unnoticed(string table, string trigger, string change)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await TaughtAsync(host, await host.Data.PupilAsync(instructor: instructor.Id), instructor.Id, daysAgo: 7);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal((60, "Helped"), await ToldAsync(api, instructor.Id));
        await RunAsync(host, $"ALTER TABLE {table} DISABLE TRIGGER {trigger}");
        await RunAsync(host, change);
        await RunAsync(host, $"ALTER TABLE {table} ENABLE TRIGGER {trigger}");
        Assert.Equal((60, "Helped"), await ToldAsync(api, instructor.Id));
        await RunAsync(host, $"UPDATE {table} SET pupil_id = pupil_id");
        Assert.NotEqual((60, "Helped"), await ToldAsync(api, instructor.Id));
    }

    [Fact]
    public async Task Private_practice_counts_in_what_was_looked_back_on()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await RunAsync(host, $"""
            INSERT INTO syllabus.private_practice (id, version, pupil_id, "on", minutes, conditions, supervisor, skills, edition, logged_at, logged_by)
            VALUES (gen_random_uuid(), 1, '{pupil.Id}', '2026-02-01', 60, '{"{}"}', 'A parent', '{"{}"}', 1, now(), 'Tamsin Oakley')
            """);
        Assert.Equal(1, await NumberAsync(host, $"SELECT version FROM syllabus.learning_versions WHERE pupil_id = '{pupil.Id}'"));
        await RunAsync(host, "DELETE FROM syllabus.private_practice");
        Assert.Equal(2, await NumberAsync(host, $"SELECT version FROM syllabus.learning_versions WHERE pupil_id = '{pupil.Id}'"));
    }

    [Fact]
    public async Task What_was_reckoned_of_finished_pupils_follows_their_courses_and_the_terms()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.TeacherAsync();
        var pupil = await host.Data.PupilAsync();
        await host.TeachAsync(teacher, pupil, lessons: 12, new(2025, 6, 2), level: i => Math.Min(4, 1 + (i / 3)));
        await host.PassAsync(pupil, new(2025, 9, 1));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var seen = new HashSet<string>(StringComparer.Ordinal);
        Assert.True(seen.Add(await BacktestAsync(office)));
        Assert.False(seen.Add(await BacktestAsync(office)));
        await RunAsync(host, "UPDATE diary.lessons SET minutes_taught = 50");
        Assert.True(seen.Add(await BacktestAsync(office)));
        await RunAsync(host, $"""
            INSERT INTO syllabus.private_practice (id, version, pupil_id, "on", minutes, conditions, supervisor, skills, edition, logged_at, logged_by)
            VALUES (gen_random_uuid(), 1, '{pupil.Id}', '2025-06-10', 600, '{"{}"}', 'A parent', '{"{}"}', 1, now(), 'Tamsin Oakley')
            """);
        Assert.True(seen.Add(await BacktestAsync(office)));
        await RunAsync(host, "UPDATE syllabus.settings SET practice_weight = 100");
        Assert.True(seen.Add(await BacktestAsync(office)));
    }

    private static async Task<string> BacktestAsync(HttpClient office) => (await office.GetJsonAsync("/api/v1/syllabus/backtest")).GetRawText();

    private static async Task<(int Minutes, string? Level)> ToldAsync(HttpClient api, Guid instructor)
    {
        var pupil = Assert.Single((await api.GetJsonAsync($"/api/v1/instructors/{instructor}/learning")).GetProperty("pupils").EnumerateArray());
        return (pupil.GetProperty("minutesTaught").GetInt32(), pupil.GetProperty("levels").EnumerateArray().Select(level => SkillLevelOf(level.GetProperty("level").GetString()!)).SingleOrDefault());
    }

    private static string SkillLevelOf(string word) => Enum.Parse<SkillLevel>(word, ignoreCase: true).ToString();

    private static async Task<Guid> TaughtAsync(SchoolHost host, Pupil pupil, Guid instructor, int daysAgo)
    {
        var start = host.Clock.GetCurrentInstant() - Duration.FromDays(daysAgo);
        var lesson = Lesson.Book(pupil.Id, instructor, (await host.Data.CarAsync()).Id, new(start, start + Duration.FromHours(1)), pupil.PickUp, pupil.PickUp, start);
        Assert.Null(lesson.Record(60, "", host.Clock.GetCurrentInstant()));
        await host.AddAsync(lesson);
        await host.AddAsync(new LessonRecord
        {
            LessonId = lesson.Id,
            PupilId = pupil.Id,
            Edition = 1,
            Levels = [new() { Skill = "signals", Level = SkillLevel.Helped }],
            RecordedAt = start,
            RecordedBy = instructor,
        });
        return lesson.Id;
    }

    private static async Task RunAsync(SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }

    private static async Task<long> NumberAsync(SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        return (long)(await command.ExecuteScalarAsync())!;
    }
}
