using System.Net;
using NodaTime;
using Npgsql;
using School.Core.Diary.Charges;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;

namespace School.Web.Tests.Calendars;

/// <summary>A feed that has not changed is known by its count of changes, without writing it; and whatever it tells of is counted.</summary>
public sealed class FeedVersionTests(TestPostgres postgres)
{
    [Fact]
    public async Task An_unchanged_feed_costs_one_statement()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        var first = await host.ReadAsync(url);
        foreach (var known in ((string, string)[])[("If-None-Match", first.Header("ETag")), ("If-Modified-Since", first.Header("Last-Modified"))])
        {
            using var asked = new QueryCounter(host.ConnectionString);
            var again = await host.ReadAsync(url, null, known);
            Assert.Equal((HttpStatusCode.NotModified, first.Header("ETag")), (again.StatusCode, again.Header("ETag")));
            Assert.Contains("FROM calendars.feeds", Assert.Single(asked.Texts), StringComparison.Ordinal);
        }

        host.Clock.AdvanceMinutes(11);
        using var noted = new QueryCounter(host.ConnectionString);
        await host.ReadAsync(url, null, ("If-None-Match", first.Header("ETag")));
        Assert.Equal(2, noted.Texts.Count(text => text.Contains("calendars.feeds", StringComparison.Ordinal)));
    }

    /// <summary>Each of them told at once; and told by that trigger: without it nobody would notice.</summary>
    [Theory]
    [InlineData("instructorId", "UPDATE diary.lessons SET starts_at = starts_at + interval '1 hour', ends_at = ends_at + interval '1 hour'", "diary.lessons", "lessons_raise_feeds")]
    [InlineData("pupilId", "UPDATE diary.lessons SET pick_up_label = 'Station Road', pick_up_address = 'Station Road'", "diary.lessons", "lessons_raise_feeds")]
    [InlineData("carId", "UPDATE diary.lessons SET pick_up_label = 'Station Road'", "diary.lessons", "lessons_raise_feeds")]
    [InlineData("instructorId", "UPDATE pupils.pupils SET name = 'Tamsin Elm'", "pupils.pupils", "pupils_raise_feeds")]
    [InlineData("pupilId", "UPDATE pupils.pupils SET name = 'Tamsin Elm'", "pupils.pupils", "pupils_raise_feeds")]
    [InlineData("carId", "UPDATE pupils.pupils SET name = 'Rowan Elm'", "pupils.pupils", "pupils_raise_feeds")]
    [InlineData("instructorId", "UPDATE people.instructors SET name = 'Sorrel Ashby'", "people.instructors", "instructors_raise_feeds")]
    [InlineData("pupilId", "UPDATE people.instructors SET name = 'Sorrel Ashby'", "people.instructors", "instructors_raise_feeds")]
    [InlineData("carId", "UPDATE people.instructors SET name = 'Sorrel Ashby'", "people.instructors", "instructors_raise_feeds")]
    [InlineData("carId", "UPDATE cars.cars SET label = 'The red one'", "cars.cars", "cars_raise_feeds")]
    [InlineData("instructorId", "UPDATE people.school SET name = 'Larkfield and Fernhill'", "people.school", "school_raise_feeds")]
    [InlineData("pupilId", "UPDATE people.school SET zone = 'Europe/Paris'", "people.school", "school_raise_feeds")]
    [InlineData("pupilId", "UPDATE people.school SET twelve_hour_clock = NOT twelve_hour_clock", "people.school", "school_raise_feeds")]
    [InlineData("pupilId", "UPDATE diary.test_days SET starts_at = starts_at + interval '5 minutes', ends_at = ends_at + interval '5 minutes'", "diary.test_days", "test_days_raise_feeds")]
    [InlineData("instructorId", "UPDATE diary.test_days SET changed_at = changed_at + interval '1 minute', sequence = sequence + 1", "diary.test_days", "test_days_raise_feeds")]
    public async Task Whatever_a_feed_tells_of_changes_its_tag(string subject, string change, string table, string trigger)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await office.EnteredAsync(school.Pupil.Id, Larkfield.Ten + Duration.FromDays(7), ("instructorId", school.Instructor.Id), ("ownCar", true));
        var url = await office.FeedAsync(new Dictionary<string, object>
        {
            [subject] = subject switch { "instructorId" => school.Instructor.Id, "pupilId" => school.Pupil.Id, _ => school.Car.Id },
            ["detail"] = "full",
        });
        var before = (await host.ReadAsync(url)).Header("ETag");
        Assert.Equal(HttpStatusCode.NotModified, (await host.ReadAsync(url, null, ("If-None-Match", before))).StatusCode);

        await RunAsync(host, $"ALTER TABLE {table} DISABLE TRIGGER {trigger}");
        await RunAsync(host, change);
        await RunAsync(host, $"ALTER TABLE {table} ENABLE TRIGGER {trigger}");
        Assert.Equal(HttpStatusCode.NotModified, (await host.ReadAsync(url, null, ("If-None-Match", before))).StatusCode);

        await RunAsync(host, $"UPDATE {table} SET version = version + 1");
        await ChangedAsync(host, url, before);
    }

    [Theory]
    [InlineData("UPDATE calendars.feeds SET detail = 'Busy'")]
    [InlineData("UPDATE calendars.feeds SET hide_cancelled = true")]
    public async Task How_the_feed_was_asked_for_counts_too(string change)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        await school.ChangeAsync((lesson, now) => Assert.Null(lesson.Cancel(CancelReason.Pupil, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Pupil, lesson.StartsAt, now, new(48)), now)));
        var url = await school.OwnFeedAsync();
        var before = (await host.ReadAsync(url)).Header("ETag");
        await RunAsync(host, change);
        await ChangedAsync(host, url, before);
    }

    [Fact]
    public async Task What_another_program_told_is_not_trusted()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var url = await (await Larkfield.OnAsync(host)).OwnFeedAsync();
        var before = (await host.ReadAsync(url)).Header("ETag");
        await RunAsync(host, "UPDATE calendars.feeds SET told_by = 'another', content_hash = sha256('other words')");
        await ChangedAsync(host, url, "\"9d2a48\"");
        Assert.Equal(HttpStatusCode.NotModified, (await host.ReadAsync(url, null, ("If-None-Match", before))).StatusCode);
    }

    [Theory]
    [InlineData(-90 * 24 + 1)]
    [InlineData((366 * 24) + 2)]
    public async Task What_time_alone_brings_or_takes_is_told_in_time(int hours)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        await host.AddAsync(school.Another(host.Clock.GetCurrentInstant() + Duration.FromHours(hours)));
        var url = await school.OwnFeedAsync();
        var before = (await host.ReadAsync(url)).Header("ETag");
        host.Clock.AdvanceMinutes(119);
        Assert.Equal(HttpStatusCode.NotModified, (await host.ReadAsync(url, null, ("If-None-Match", before))).StatusCode);
        host.Clock.AdvanceMinutes(2);
        await ChangedAsync(host, url, before);
    }

    private static async Task ChangedAsync(SchoolHost host, string url, string before)
    {
        var after = await host.ReadAsync(url, null, ("If-None-Match", before));
        Assert.Equal(HttpStatusCode.OK, after.StatusCode);
        Assert.NotEqual(before, after.Header("ETag"));
    }

    private static async Task RunAsync(SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }
}
