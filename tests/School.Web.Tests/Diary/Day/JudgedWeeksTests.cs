using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Day;

/// <summary>Which lessons cannot take place is remembered by week, and is never older than the last look.</summary>
public sealed class JudgedWeeksTests(TestPostgres postgres)
{
    private static readonly Instant Ten = London(2026, 3, 5, 10);

    [Fact]
    public async Task Where_nothing_has_changed_no_lesson_is_read_again()
    {
        await using var school = await BookedAsync();
        Assert.Empty(await ImpossibleAsync(school));
        using (var asked = new QueryCounter(school.Host.ConnectionString))
        {
            Assert.Empty(await ImpossibleAsync(school));
            // What is over and not recorded is asked each time.
            // What is over and not recorded is asked each time, and so is what leads to a place that is still to be found: each by an index of those alone.
            Assert.Collection(
                asked.Texts.Where(text => text.Contains("FROM diary.lessons", StringComparison.Ordinal)).OrderBy(text => text.Contains("ToBeFound", StringComparison.Ordinal)),
                over => Assert.Contains("ends_at", over, StringComparison.Ordinal),
                toFind => Assert.Contains("'ToBeFound'", toFind, StringComparison.Ordinal));
        }

        // Made impossible without a count: a week that is judged again tells of it.
        await RunAsync(school.Host, "ALTER TABLE diary.lessons DISABLE TRIGGER lessons_raise_day_versions");
        await RunAsync(school.Host, "UPDATE diary.lessons SET starts_at = starts_at - interval '9 hours', ends_at = ends_at - interval '9 hours'");
        await RunAsync(school.Host, "ALTER TABLE diary.lessons ENABLE TRIGGER lessons_raise_day_versions");
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 19, 10));
        Assert.Empty(await ImpossibleAsync(school));
        await RunAsync(school.Host, "UPDATE diary.lessons SET version = version + 1");
        Assert.Single(await ImpossibleAsync(school));
    }

    /// <summary>Each by another connection, as another node would; and noticed by that trigger, without which nobody would know.</summary>
    [Theory]
    [InlineData("pupils.pupils", "pupils_raise_version", "UPDATE pupils.pupils SET gearbox = 'Automatic'")]
    [InlineData("pupils.pupils", "pupils_raise_version", "UPDATE pupils.pupils SET birth_date = '2015-01-01'")]
    [InlineData("cars.cars", "cars_raise_version", "UPDATE cars.cars SET insurance_expires = '2026-03-01'")]
    [InlineData("people.instructors", "instructors_raise_version", "UPDATE people.instructors SET registered_to = '2026-03-01'")]
    [InlineData("diary.lessons", "lessons_raise_day_versions", "UPDATE diary.lessons SET starts_at = starts_at - interval '9 hours', ends_at = ends_at - interval '9 hours'")]
    [InlineData("diary.settings", "settings_raise_version", "UPDATE diary.settings SET daily_teaching_minutes = 15")]
    public async Task A_change_elsewhere_is_seen_at_once(string table, string trigger, string change)
    {
        await using var school = await BookedAsync();
        Assert.Empty(await ImpossibleAsync(school));
        await RunAsync(school.Host, $"ALTER TABLE {table} DISABLE TRIGGER {trigger}");
        await RunAsync(school.Host, change);
        await RunAsync(school.Host, $"ALTER TABLE {table} ENABLE TRIGGER {trigger}");
        Assert.Empty(await ImpossibleAsync(school));
        await RunAsync(school.Host, $"UPDATE {table} SET version = version + 1");
        Assert.Single(await ImpossibleAsync(school));
    }

    [Fact]
    public async Task Time_off_and_its_end_are_seen_at_once()
    {
        await using var school = await BookedAsync();
        Assert.Empty(await ImpossibleAsync(school));
        var off = await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/instructors/{school.InstructorId}/time-off",
            new { start = "2026-03-05T00:00:00+00:00", end = "2026-03-06T00:00:00+00:00", reason = "dentist" })).JsonAsync(System.Net.HttpStatusCode.Created);
        Assert.Contains("is off at that time", Assert.Single(await ImpossibleAsync(school)), StringComparison.Ordinal);
        await school.Office.SendJsonAsync(HttpMethod.Delete, $"/api/v1/instructors/{school.InstructorId}/time-off/{off.Id()}");
        Assert.Empty(await ImpossibleAsync(school));
    }

    [Fact]
    public async Task A_lesson_that_has_begun_is_not_told_any_more_and_a_name_is_that_of_now()
    {
        await using var school = await BookedAsync();
        await RunAsync(school.Host, "UPDATE cars.cars SET insurance_expires = '2026-03-01'");
        Assert.Contains("Tamsin Oakley", Assert.Single(await ImpossibleAsync(school)), StringComparison.Ordinal);
        await RunAsync(school.Host, "UPDATE pupils.pupils SET name = 'Tamsin Elm'");
        Assert.Contains("Tamsin Elm", Assert.Single(await ImpossibleAsync(school)), StringComparison.Ordinal);
        school.Host.Clock.Reset(Ten);
        Assert.Empty(await ImpossibleAsync(school));
    }

    /// <summary>The pupil goes with somebody else, in another car: nobody of the school has anything that day.</summary>
    [Fact]
    public async Task A_test_to_which_nobody_of_the_school_goes_is_seen_too()
    {
        await using var school = await BookedAsync();
        var test = (await school.Office.EnteredAsync(school.PupilId, Ten + Duration.FromDays(1), ("ownCar", true))).Id();
        Assert.Empty(await ImpossibleAsync(school));
        await RunAsync(school.Host, $"""
            DELETE FROM diary.occupied WHERE entry_id = '{test}';
            ALTER TABLE diary.test_days DISABLE TRIGGER USER;
            ALTER TABLE diary.test_days ENABLE TRIGGER test_days_raise_day_versions;
            UPDATE diary.test_days SET starts_at = starts_at - interval '1 day', ends_at = ends_at - interval '1 day',
                blocked_from = blocked_from - interval '1 day', blocked_until = blocked_until - interval '1 day'
            """);
        Assert.Contains("another lesson at that time", Assert.Single(await ImpossibleAsync(school)), StringComparison.Ordinal);
    }

    private async Task<SmallSchool> BookedAsync()
    {
        var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, Ten);
        return school;
    }

    private static async Task<List<string>> ImpossibleAsync(SmallSchool school) =>
        [.. (await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray()
            .Where(item => item.Word("kind") == "impossible_lesson").Select(item => item.Word("sentence")!)];

    private static async Task RunAsync(SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }
}
