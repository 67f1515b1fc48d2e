using Npgsql;
using School.Tests;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.Events.LiveSchool;

namespace School.Web.Tests.Diary.Events;

/// <summary>What happens while somebody does not hear is told afterwards, or that it is to be read anew.</summary>
public sealed class LiveGapTests(TestPostgres postgres)
{
    private const string OfListener = "datname = current_database() AND application_name = 'School, changes of days'";

    [Fact]
    public async Task Who_comes_back_is_told_what_they_missed_and_nothing_twice()
    {
        await using var school = await LiveSchool.StartAsync(postgres, ("School:Live:SaySeconds", "0.1"));
        await using var keeps = await LiveReader.OpenAsync(school.Office);
        string id;
        await using (var first = await LiveReader.OpenAsync(school.Instructor))
        {
            var begin = await first.IdAfterAsync("");
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
            Assert.Equal("instructor", (await first.NextAsync()).Kind);
            // With the transaction itself among what was told.
            await first.IdAfterAsync(begin);
            await SettledAsync(school.Host);
            id = school.Host.Live().Id!;
        }

        await using (var nothing = await LiveReader.OpenAsync(school.Instructor, id))
        {
            await school.Host.ChangeSchoolAsync();
            Assert.Equal(["school"], (await nothing.UntilAsync(OfSchool)).Select(one => one.Kind));
        }

        await school.Office.BookedAsync(school.PupilId, school.InstructorId, DiaryApi.London(2026, 3, 6, 10));
        await SettledAsync(school.Host);
        await using var back = await LiveReader.OpenAsync(school.Instructor, id);
        Assert.Equal([("school", null), ("instructor", "2026-03-06")], new[] { await back.NextAsync(), await back.NextAsync() }.Select(one => (one.Kind, one.Day)));
        using var byAddress = await school.Instructor.GetAsync($"/api/v1/events?from={id}", HttpCompletionOption.ResponseHeadersRead);
        Assert.Contains("event: change", await ReadAsync(byAddress), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("nonsense")]
    [InlineData("1-100")]
    [InlineData("0")]
    [InlineData("18446744073709551616-7")]
    public async Task Who_comes_back_with_what_is_not_known_here_is_told_to_read_anew(string id)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var back = await LiveReader.OpenAsync(school.Instructor, id);
        Assert.Equal(("again", "everything", null), (await back.NextAsync() is var told ? (told.Event, told.Kind, told.Id) : default));
        Assert.NotEqual(id, await back.IdAfterAsync(id));
    }

    [Fact]
    public async Task Who_comes_back_after_more_than_is_remembered_is_told_to_read_anew()
    {
        await using var school = await LiveSchool.StartAsync(postgres, ("School:Live:Remembered", "3"));
        await using var keeps = await LiveReader.OpenAsync(school.Office);
        var id = await keeps.IdAfterAsync("");
        for (var n = 0; n < 3; n++)
        {
            await school.Host.ChangeSchoolAsync();
        }

        await SettledAsync(school.Host);
        await using (var within = await LiveReader.OpenAsync(school.Instructor, id))
        {
            Assert.Equal(["change", "change", "change"], new[] { await within.NextAsync(), await within.NextAsync(), await within.NextAsync() }.Select(one => one.Event));
        }

        await school.Host.ChangeSchoolAsync();
        await SettledAsync(school.Host);
        await using var late = await LiveReader.OpenAsync(school.Instructor, id);
        Assert.Equal("again", (await late.NextAsync()).Event);
    }

    [Fact]
    public async Task What_changes_while_the_connection_is_broken_is_told_after()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var database = new NpgsqlConnectionStringBuilder(school.Host.ConnectionString).Database;
        await using var own = await LiveReader.OpenAsync(school.Instructor);
        await using var office = await LiveReader.OpenAsync(school.Office);
        await school.Host.ChangeSchoolAsync();
        Assert.Equal("school", (await own.NextAsync()).Kind);
        Assert.Equal("school", (await office.NextAsync()).Kind);

        // Who is in stays in; the listener cannot come back before it is let in again.
        await using (var source = NpgsqlDataSource.Create(school.Host.ConnectionString))
        await using (var inside = await source.OpenConnectionAsync())
        {
            await RunAsync(inside, $"ALTER DATABASE {database} CONNECTION LIMIT 0");
            Assert.Equal(1L, await RunAsync(inside, $"SELECT count(pg_terminate_backend(pid, 5000)) FROM pg_stat_activity WHERE {OfListener}"));
            await RunAsync(inside, $"SELECT diary.raise_day_versions('instructor', '{school.InstructorId}', '2026-03-05 09:00Z', '2026-03-05 10:00Z')");
            await RunAsync(inside, "UPDATE pupils.pupils SET phone = phone");
            Assert.Equal(0L, await RunAsync(inside, $"SELECT count(*) FROM pg_stat_activity WHERE {OfListener}"));
            await RunAsync(inside, $"ALTER DATABASE {database} CONNECTION LIMIT -1");
        }

        // In which order is not known any more. What was heard last before the break may be told again: whether that was all of it is not known either.
        Assert.Equal(["instructor 2026-03-05", "pupils "], await MissedAsync(own));
        Assert.Equal(["instructor 2026-03-05", "pupils "], await MissedAsync(office));
        await school.Host.ChangeSchoolAsync();
        Assert.Equal("school", (await own.NextAsync()).Kind);

        static async Task<IEnumerable<string>> MissedAsync(LiveReader reader)
        {
            var heard = new List<string>();
            while (heard.Count < 2)
            {
                var one = await reader.NextAsync();
                if (one.Kind != "school")
                {
                    heard.Add($"{one.Kind} {one.Day}");
                }
            }

            return heard.Order();
        }
    }

    [Fact]
    public async Task More_than_can_be_told_after_a_gap_is_told_as_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var own = await LiveReader.OpenAsync(school.Instructor);
        await school.Host.SqlAsync(
            $"""
            DO $$ BEGIN
                PERFORM pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE {OfListener};
                PERFORM diary.raise_day_versions('instructor', '{school.InstructorId}', '2026-03-05 09:00Z', '2027-03-05 10:00Z');
            END $$
            """);
        Assert.Equal("again", (await own.NextAsync()).Event);
        await school.Host.ChangeSchoolAsync();
        Assert.Equal("school", (await own.NextAsync()).Kind);
    }

    [Fact]
    public async Task What_one_node_does_is_told_on_the_other_and_its_ids_are_good_there()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await using var second = host.SecondListening();
        await using var school = await SmallSchool.OnAsync(host);
        using var here = new HttpClient { BaseAddress = new(host.Url), DefaultRequestHeaders = { Authorization = school.Office.DefaultRequestHeaders.Authorization } };
        using var there = new HttpClient { BaseAddress = new(second.Url), DefaultRequestHeaders = { Authorization = school.Instructor.DefaultRequestHeaders.Authorization } };
        await using var near = await LiveReader.OpenAsync(here);
        string id;
        await using (var stream = await LiveReader.OpenAsync(there))
        {
            await here.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
            Assert.Equal(("instructor", school.InstructorId), (await stream.NextAsync() is var told ? (told.Kind, told.Id!.Value) : default));
            await SettledAsync(host);
            id = host.Live().Id!;
        }

        await there.BookedAsync(school.PupilId, school.InstructorId, DiaryApi.London(2026, 3, 6, 10));
        await SettledAsync(second);
        await using var back = await LiveReader.OpenAsync(there, id);
        Assert.Equal(("change", "instructor", "2026-03-06"), (await back.NextAsync() is var missed ? (missed.Event, missed.Kind, missed.Day) : default));
    }

    /// <summary>Until the node has heard of all that has ended.</summary>
    private static async Task SettledAsync(SchoolHost host)
    {
        using var limit = new CancellationTokenSource(LiveReader.Patience);
        var last = await host.AskAsync<string>("SELECT max(xmin::text::bigint)::text FROM diary.day_versions");
        while (!host.Live().Told!.Holds(ulong.Parse(last, null)))
        {
            await Task.Delay(20, limit.Token);
        }
    }

    private static async Task<object?> RunAsync(NpgsqlConnection connection, string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        return await command.ExecuteScalarAsync();
    }

    private static async Task<string> ReadAsync(HttpResponseMessage answer)
    {
        await using var stream = await answer.Content.ReadAsStreamAsync();
        var text = "";
        var buffer = new byte[4096];
        while (!text.Contains("data:", StringComparison.Ordinal))
        {
            text += System.Text.Encoding.UTF8.GetString(buffer, 0, await stream.ReadAsync(buffer).AsTask().WaitAsync(LiveReader.Patience));
        }

        return text;
    }
}
