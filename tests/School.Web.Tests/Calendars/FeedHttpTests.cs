using System.Collections.Concurrent;
using System.Net;
using Microsoft.AspNetCore.Hosting;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging;
using NodaTime;
using School.Tests;
using School.Web.Modules.Calendars;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Calendars;

/// <summary>What stands around the text of a feed: RFC 9110, by section.</summary>
public sealed class FeedHttpTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_feed_is_answered_with_its_type_and_validators_and_no_cookie()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);

        var answer = await host.ReadAsync(await school.OwnFeedAsync());

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal("text/calendar; charset=utf-8", answer.Header("Content-Type"));
        Assert.Matches("^\"[0-9a-f]{64}\"$", answer.Header("ETag"));
        Assert.Equal("Mon, 02 Mar 2026 08:00:00 GMT", answer.Header("Last-Modified"));
        Assert.Equal("max-age=900, private", answer.Header("Cache-Control"));
        Assert.Equal("Accept-Encoding", answer.Header("Vary"));
        Assert.Empty(answer.Header("Set-Cookie"));
        Assert.Empty(answer.Header("Location"));
    }

    /// <summary>Section 9.3.2.</summary>
    [Fact]
    public async Task HEAD_answers_with_the_same_headers_and_no_text()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        var get = await host.ReadAsync(url);

        var head = await host.ReadAsync(url, HttpMethod.Head);

        Assert.Equal(HttpStatusCode.OK, head.StatusCode);
        foreach (var name in new[] { "Content-Type", "ETag", "Last-Modified", "Cache-Control", "Vary" })
        {
            Assert.Equal(get.Header(name), head.Header(name));
        }

        Assert.Equal((await get.Content.ReadAsByteArrayAsync()).Length, head.Content.Headers.ContentLength);
        Assert.Empty(await head.Content.ReadAsByteArrayAsync());
    }

    /// <summary>Sections 13.1.2, 13.1.3, 13.2.2 (which one counts) and 15.4.5 (what a 304 repeats).</summary>
    [Fact]
    public async Task An_unchanged_feed_is_not_sent_again()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        var first = await host.ReadAsync(url);
        var (tag, date) = (first.Header("ETag"), first.Header("Last-Modified"));
        const string LongAgo = "Sun, 01 Mar 2026 08:00:00 GMT";

        foreach (var known in new (string, string)[][]
        {
            [("If-None-Match", tag)],
            [("If-None-Match", $"W/{tag}")],
            [("If-None-Match", $"\"other\", {tag}")],
            [("If-None-Match", "*")],
            [("If-Modified-Since", date)],
            [("If-None-Match", tag), ("If-Modified-Since", LongAgo)],
        })
        {
            var answer = await host.ReadAsync(url, null, known);
            Assert.Equal(HttpStatusCode.NotModified, answer.StatusCode);
            Assert.Equal((tag, date, "max-age=900, private"), (answer.Header("ETag"), answer.Header("Last-Modified"), answer.Header("Cache-Control")));
            Assert.Empty(await answer.Content.ReadAsByteArrayAsync());
        }

        foreach (var known in new (string, string)[][]
        {
            [("If-None-Match", "\"other\"")],
            [("If-None-Match", "\"other\""), ("If-Modified-Since", date)],
            [("If-Modified-Since", LongAgo)],
            [("If-Modified-Since", "yesterday")],
        })
        {
            Assert.Equal(HttpStatusCode.OK, (await host.ReadAsync(url, null, known)).StatusCode);
        }
    }

    [Fact]
    public async Task An_instructors_feed_tells_the_door_of_a_lesson_for_seven_days_and_then_its_short_name()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        // A calendar program asks with what it has, so what changes by the mere passing of time must change the tag.
        host.Clock.Reset(Larkfield.Ten + Duration.FromHours(1) + Duration.FromDays(7) - Duration.FromMinutes(1));
        var before = await host.ReadAsync(url);
        Assert.Contains("12 Quince Lane\\, Larkfield", await before.TextAsync(), StringComparison.Ordinal);
        Assert.Contains("GEO:", await before.TextAsync(), StringComparison.Ordinal);
        host.Clock.AdvanceMinutes(2);
        var after = await host.ReadAsync(url, null, ("If-None-Match", before.Header("ETag")));
        Assert.Equal(HttpStatusCode.OK, after.StatusCode);
        var text = await after.TextAsync();
        Assert.Contains("LOCATION:Quince Lane", text, StringComparison.Ordinal);
        Assert.DoesNotContain("12 Quince Lane", text, StringComparison.Ordinal);
        Assert.DoesNotContain("GEO:", text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_lesson_that_leaves_the_feed_and_a_new_name_count_as_changes_too()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var other = await host.Data.InstructorAsync("Barnaby Wick");
        var url = await school.OwnFeedAsync();
        var date = (await host.ReadAsync(url)).Header("Last-Modified");

        host.Clock.AdvanceMinutes(1);
        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.Name, "Tamsin Elm")));
        var renamed = await host.ReadAsync(url, null, ("If-Modified-Since", date));
        Assert.Equal(HttpStatusCode.OK, renamed.StatusCode);
        Assert.Equal("Mon, 02 Mar 2026 08:01:00 GMT", renamed.Header("Last-Modified"));

        host.Clock.AdvanceMinutes(1);
        await school.ChangeAsync((lesson, now) => Assert.Null(lesson.Move(other.Id, school.Car.Id, lesson.During, now)));
        Assert.Equal(HttpStatusCode.OK, (await host.ReadAsync(url, null, ("If-Modified-Since", renamed.Header("Last-Modified")))).StatusCode);
    }

    /// <summary>Sections 8.4.1.3 and 12.5.3; 8.8.3.3: another coding is another representation, so it has another strong tag.</summary>
    [Fact]
    public async Task A_feed_is_packed_for_those_who_take_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        var plain = await host.ReadAsync(url);

        foreach (var takes in new[] { "gzip", "br;q=1.0, gzip;q=0.5", "*" })
        {
            var packed = await host.ReadAsync(url, null, ("Accept-Encoding", takes));
            Assert.Equal("gzip", packed.Header("Content-Encoding"));
            Assert.Equal(await plain.Content.ReadAsByteArrayAsync(), await packed.UnpackedAsync());
            Assert.NotEqual(plain.Header("ETag"), packed.Header("ETag"));
            Assert.Equal(HttpStatusCode.NotModified, (await host.ReadAsync(url, null, ("Accept-Encoding", takes), ("If-None-Match", packed.Header("ETag")))).StatusCode);
        }

        foreach (var takes in new[] { "identity", "gzip;q=0", "gzip;q=0, *", "br" })
        {
            var unpacked = await host.ReadAsync(url, null, ("Accept-Encoding", takes));
            Assert.Empty(unpacked.Header("Content-Encoding"));
            Assert.Equal(plain.Header("ETag"), unpacked.Header("ETag"));
        }
    }

    [Fact]
    public async Task Wrong_revoked_and_closed_addresses_answer_alike()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var (revoked, closed) = (await school.OwnFeedAsync(), "");
        await host.WithDbAsync(db => db.Set<Feed>().ExecuteUpdateAsync(set => set.SetProperty(f => f.RevokedAt, host.Clock.GetCurrentInstant())));
        using (var pupil = await host.ApiAsAsync(await host.Data.PersonAsync(school.Pupil)))
        {
            closed = await pupil.FeedAsync(new { pupilId = school.Pupil.Id, detail = "full" });
        }

        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.PupilId != null).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));

        var wrong = await DescribeAsync(await host.ReadAsync($"https://localhost/calendar/{FeedSecret.New()}.ics"));
        Assert.StartsWith("404 There is no calendar at this address.", wrong, StringComparison.Ordinal);
        Assert.Equal(wrong, await DescribeAsync(await host.ReadAsync(revoked)));
        Assert.Equal(wrong, await DescribeAsync(await host.ReadAsync(closed)));
        Assert.Equal(wrong, await DescribeAsync(await host.ReadAsync("https://localhost/calendar/x.ics")));
    }

    [Fact]
    public async Task Guessing_is_limited_and_does_not_shut_out_those_who_know()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        for (var n = 0; n < 60; n++)
        {
            Assert.Equal(HttpStatusCode.NotFound, (await host.ReadAsync($"/calendar/guess{n}.ics")).StatusCode);
        }

        var refused = await host.ReadAsync("/calendar/guess61.ics");
        Assert.Equal((HttpStatusCode)429, refused.StatusCode);
        Assert.Equal("600", refused.Header("Retry-After"));
        Assert.Equal(HttpStatusCode.OK, (await host.ReadAsync(url)).StatusCode);

        host.Clock.AdvanceMinutes(10);
        Assert.Equal(HttpStatusCode.NotFound, (await host.ReadAsync("/calendar/guess62.ics")).StatusCode);
    }

    [Fact]
    public async Task The_last_use_is_noted_every_ten_minutes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        var start = host.Clock.GetCurrentInstant();
        var noted = new List<Duration>();
        for (var n = 0; n < 4; n++)
        {
            await host.TextOfAsync(url);
            noted.Add((await host.WithDbAsync(db => db.Set<Feed>().Select(f => f.LastReadAt).SingleAsync()))!.Value - start);
            host.Clock.AdvanceMinutes(5);
        }

        Assert.Equal([0, 0, 10, 10], noted.Select(d => (int)d.TotalMinutes));
    }

    [Fact]
    public async Task The_secret_is_kept_nowhere_in_clear()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(school.Instructor));
        api.DefaultRequestHeaders.Add("Idempotency-Key", "one feed");
        var url = await api.FeedAsync(new { instructorId = school.Instructor.Id, detail = "full" });
        Assert.Equal(url, await api.FeedAsync(new { instructorId = school.Instructor.Id, detail = "full" }));
        var secret = url.Split('/')[^1].Split('.')[0];
        Assert.Matches("^[A-Za-z0-9_-]{43}$", secret);

        var everything = await host.WithDbAsync(async db =>
        {
            var tables = await db.Database.SqlQuery<string>(
                $"SELECT format('%I.%I', schemaname, tablename) AS \"Value\" FROM pg_tables WHERE schemaname NOT IN ('pg_catalog', 'information_schema')").ToListAsync();
            var rows = new List<string>();
            foreach (var table in tables)
            {
                // Octet columns are shown as text where they hold text.
#pragma warning disable EF1002 // Table names of our own schema.
                rows.AddRange(await db.Database.SqlQueryRaw<string>($"SELECT t::text AS \"Value\" FROM {table} t").ToListAsync());
#pragma warning restore EF1002
            }

            return string.Join('\n', rows);
        });

        Assert.Contains(school.Instructor.Id.ToString(), everything, StringComparison.Ordinal);
        Assert.DoesNotContain(secret, everything, StringComparison.Ordinal);
        Assert.DoesNotContain(Convert.ToHexStringLower(System.Text.Encoding.UTF8.GetBytes(secret)), everything, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_secret_is_not_in_the_log()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        using var log = new Lines();
        await using var talkative = host.WithWebHostBuilder(builder => builder
            .UseSetting("Logging:LogLevel:Microsoft.AspNetCore", "Information")
            .ConfigureLogging(logging => logging.SetMinimumLevel(LogLevel.Information).AddProvider(log)));
        using var client = talkative.CreateClient();

        Assert.Equal(HttpStatusCode.OK, (await client.GetAsync(url)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.GetAsync("/calendar/guess.ics")).StatusCode);

        Assert.Contains(log.Written, line => line.Contains("/calendar/{secret}.ics", StringComparison.Ordinal));
        Assert.DoesNotContain(log.Written, line => line.Contains(url.Split('/')[^1], StringComparison.Ordinal) || line.Contains("guess.ics", StringComparison.Ordinal));
    }

    private static async Task<string> DescribeAsync(HttpResponseMessage answer) =>
        $"{(int)answer.StatusCode} {await answer.Content.ReadAsStringAsync()} "
        + string.Join(' ', answer.Headers.Concat(answer.Content.Headers).Where(h => h.Key != "Content-Security-Policy").Select(h => $"{h.Key}={string.Join(',', h.Value)}"));

    private sealed class Lines : ILoggerProvider, ILogger
    {
        private readonly ConcurrentQueue<string> _written = new();

        public IReadOnlyCollection<string> Written => _written;

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull
        {
            _written.Enqueue(state.ToString() ?? "");
            return null;
        }

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            _written.Enqueue(formatter(state, exception));

        public void Dispose()
        {
        }
    }
}
