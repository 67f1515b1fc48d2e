using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Text;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using School.Core;
using School.Tests;
using School.Web.Modules.Diary.Events;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Platform;
using School.Web.Platform.Access;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.Events.LiveSchool;

namespace School.Web.Tests.Diary.Events;

/// <summary>A stream costs little and ends in time, whoever reads it and however slowly.</summary>
public sealed class LiveLimitsTests(TestPostgres postgres)
{
    private const int Silent = 500;

    [Theory]
    [InlineData("cookie")]
    [InlineData("token")]
    [InlineData("hat")]
    [InlineData("closed")]
    public async Task What_ends_the_session_or_the_right_ends_the_stream(string what)
    {
        await using var school = await LiveSchool.StartAsync(postgres, ("School:Live:LookSeconds", "0.2"));
        var host = school.Host;
        var office = await host.Data.OfficeAsync("Corin Marsh");
        using var pages = await host.PagesAsAsync(office);
        using var api = await host.ApiAsAsync(office);
        await using var ended = await LiveReader.OpenAsync(what == "token" ? api : pages);
        await using var stays = await LiveReader.OpenAsync(school.Office);
        var now = host.Clock.GetCurrentInstant();
        await host.WithDbAsync(db => what switch
        {
            "cookie" => db.Set<Session>().Where(s => s.PersonId == office.Id).ExecuteUpdateAsync(set => set.SetProperty(s => s.EndedAt, now)),
            "token" => db.Set<ApiToken>().Where(t => t.PersonId == office.Id).ExecuteUpdateAsync(set => set.SetProperty(t => t.RevokedAt, now)),
            "hat" => db.Set<Person>().Where(p => p.Id == office.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Parts, new[] { OfficePart.Money }.Together())),
            _ => db.Set<Person>().Where(p => p.Id == office.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)),
        });

        await ended.EndedAsync();
        Assert.Equal(1, host.Live().Streams);
        await host.ChangeSchoolAsync();
        Assert.Equal("school", (await stays.NextAsync()).Kind);
        Assert.DoesNotContain(ended.Told, data => data.Contains("school", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Who_may_see_less_from_now_on_reads_anew_and_hears_less()
    {
        await using var school = await LiveSchool.StartAsync(postgres, ("School:Live:LookSeconds", "0.2"));
        var host = school.Host;
        var other = await host.Data.InstructorAsync("Alder Fenwick");
        var both = await host.Data.WearerAsync("Alder Fenwick", "alder@larkfield.example", OfficeParts.All, other.Id);
        using var api = await host.ApiAsAsync(both);
        await using var stream = await LiveReader.OpenAsync(api);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
        Assert.Equal(["car", "instructor"], new[] { await stream.NextAsync(), await stream.NextAsync() }.Select(one => one.Kind).Order());

        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == both.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Parts, OfficeParts.None)));
        Assert.Equal("again", (await stream.NextAsync()).Event);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, DiaryApi.London(2026, 3, 6, 10));
        await host.ChangeSchoolAsync();
        Assert.Equal("school", (await stream.NextAsync()).Kind);
    }

    [Fact]
    public async Task More_streams_than_one_person_or_a_node_may_have_are_refused_by_name_and_a_closed_one_makes_room()
    {
        await using var school = await LiveSchool.StartAsync(postgres, ("School:Live:StreamsEach", "2"), ("School:Live:Streams", "3"));
        await using var first = await LiveReader.OpenAsync(school.Office);
        var second = await LiveReader.OpenAsync(school.Office);
        using var third = await school.Office.GetAsync("/api/v1/events");
        Assert.Equal("too_many_streams", await third.CodeAsync(HttpStatusCode.TooManyRequests));
        Assert.Equal("30", third.Headers.RetryAfter!.ToString());

        await using var other = await LiveReader.OpenAsync(school.Instructor);
        using var full = await school.Instructor.GetAsync("/api/v1/events");
        Assert.Equal("streams_full", await full.CodeAsync(HttpStatusCode.ServiceUnavailable));
        Assert.Equal("60", full.Headers.RetryAfter!.ToString());

        await second.DisposeAsync();
        await UntilAsync(() => school.Host.Live().Streams == 2);
        await using var again = await LiveReader.OpenAsync(school.Office);
    }

    [Fact]
    public async Task Streams_take_no_turn_from_the_requests_of_the_person_who_reads_them()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var open = new List<LiveReader>();
        for (var n = 0; n < 10; n++)
        {
            open.Add(await LiveReader.OpenAsync(school.Office));
        }

        Assert.Equal(HttpStatusCode.OK, (await school.Office.GetAsync("/api/v1/me").WaitAsync(LiveReader.Patience)).StatusCode);
        foreach (var stream in open)
        {
            await stream.DisposeAsync();
        }
    }

    [Fact]
    public async Task A_stream_says_something_now_and_then_and_ends_after_a_while()
    {
        await using var school = await LiveSchool.StartAsync(postgres, ("School:Live:SaySeconds", "0.1"), ("School:Live:LongestSeconds", "1"));
        using var answer = await school.Office.GetAsync("/api/v1/events", HttpCompletionOption.ResponseHeadersRead);
        var text = await answer.Content.ReadAsStringAsync().WaitAsync(LiveReader.Patience);
        Assert.StartsWith("retry: 2000\nid: ", text, StringComparison.Ordinal);
        Assert.InRange(text.Split("\n:\n\n").Length, 4, 12);
    }

    [Theory]
    [InlineData("Waiting", "0", "School:Live:Waiting is “0”. Give a whole number from 1 to 10000.")]
    [InlineData("Streams", "many", "School:Live:Streams is “many”. Give a whole number from 1 to 100000.")]
    [InlineData("StreamsEach", "1.5", "School:Live:StreamsEach is “1.5”. Give a whole number from 1 to 10000.")]
    [InlineData("WriteSeconds", "61", "School:Live:WriteSeconds is “61”. Give a number from 0.05 to 60.")]
    public void A_limit_that_is_none_is_named(string name, string value, string told)
    {
        var configuration = new ConfigurationBuilder().AddInMemoryCollection(
            [new($"{LiveLimits.Section}:{name}", value), new($"{LiveLimits.Section}:SaySeconds", "0"), new($"{LiveLimits.Section}:LookSeconds", "0.2")]).Build();
        var refused = Assert.Throws<CannotStartException>(() => CheckedSettings.Read<LiveLimits>(configuration, LiveLimits.Section));
        Assert.Contains(told, refused.Message, StringComparison.Ordinal);
        // All of them in one round, and none that is right.
        Assert.Contains("School:Live:SaySeconds is “0”.", refused.Message, StringComparison.Ordinal);
        Assert.DoesNotContain("LookSeconds", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_node_whose_limits_are_none_does_not_start()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (exitCode, said) = await SchoolCommand.RunAsync(new Dictionary<string, string>
        {
            ["ConnectionStrings__School"] = host.ServiceConnectionString,
            ["ASPNETCORE_URLS"] = "http://127.0.0.1:0",
            ["School__Live__Waiting"] = "0",
        });
        Assert.True(exitCode == 1, said);
        Assert.Contains("School:Live:Waiting is “0”.", said, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_node_that_stops_ends_its_streams()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        // On a real server, which waits for what is going on.
        var second = school.Host.SecondListening();
        using var api = new HttpClient { BaseAddress = new(second.Url) };
        api.DefaultRequestHeaders.Authorization = school.Office.DefaultRequestHeaders.Authorization;
        await using var stream = await LiveReader.OpenAsync(api);
        var began = Stopwatch.GetTimestamp();
        second.Services.GetRequiredService<Microsoft.Extensions.Hosting.IHostApplicationLifetime>().StopApplication();
        await stream.EndedAsync();
        Assert.True(Stopwatch.GetElapsedTime(began) < TimeSpan.FromSeconds(5));
        await second.StopAsync();
    }

    /// <summary>Five hundred that never read, one that reads an octet now and then, and one that reads.</summary>
    [Fact]
    public async Task Five_hundred_who_never_read_hold_up_nobody_and_are_left()
    {
        await using var host = await SchoolHost.ListeningAsync(
            postgres, ("School:Live:StreamsEach", "1000"), ("School:Live:WriteSeconds", "1"), ("School:Live:Waiting", "64"), ("School:Live:LingerSeconds", "0"));
        await using var school = await SmallSchool.OnAsync(host);
        var token = school.Office.DefaultRequestHeaders.Authorization!.Parameter!;
        var sockets = new List<Socket>();
        try
        {
            await Parallel.ForEachAsync(Enumerable.Range(0, Silent + 1), new ParallelOptions { MaxDegreeOfParallelism = 16 }, async (_, cancel) =>
            {
                var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { ReceiveBufferSize = 4096 };
                lock (sockets)
                {
                    sockets.Add(socket);
                }

                await socket.ConnectAsync("127.0.0.1", new Uri(host.Url).Port, cancel);
                await socket.SendAsync(Encoding.ASCII.GetBytes($"GET /api/v1/events HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {token}\r\n\r\n"), cancel);
            });
            await UntilAsync(() => host.Live().Streams == Silent + 1);
            using var client = new HttpClient { BaseAddress = new(host.Url), DefaultRequestHeaders = { Authorization = school.Instructor.DefaultRequestHeaders.Authorization } };
            await using var reads = await LiveReader.OpenAsync(client);
            var threads = ThreadPool.ThreadCount;
            var began = Stopwatch.GetTimestamp();
            await host.ChangeSchoolAsync();
            Assert.Equal("school", (await reads.NextAsync()).Kind);
            var one = Stopwatch.GetElapsedTime(began);
            Assert.True(one < TimeSpan.FromSeconds(2), $"{one}");

            // More than the buffers of the system take, in turns that a reader keeps up with.
            using var slow = new CancellationTokenSource();
            var drip = DripAsync(sockets[0], slow.Token);
            for (var n = 0; n < 12; n++)
            {
                await host.SqlAsync("DO $$ BEGIN FOR n IN 1..50 LOOP PERFORM diary.tell_change('school', NULL, NULL, n); END LOOP; END $$");
                Assert.InRange(host.Live().MostWaiting, 0, 64);
                await reads.UntilAsync(change => change.Version == 50 || change.Event == "again");
            }

            Assert.InRange(ThreadPool.ThreadCount - threads, int.MinValue, 40);
            Assert.Equal(HttpStatusCode.OK, (await client.GetAsync("/api/v1/me")).StatusCode);
            await slow.CancelAsync();
            await drip;
        }
        finally
        {
            sockets.ForEach(socket => socket.Close(0));
        }

        await UntilAsync(() => host.Live().Streams == 0);
    }

    [Fact]
    public async Task Who_takes_nothing_for_a_while_is_left()
    {
        await using var host = await SchoolHost.ListeningAsync(
            postgres, ("School:Live:WriteSeconds", "0.5"), ("School:Live:Waiting", "10000"), ("School:Live:Remembered", "1"), ("School:Live:LingerSeconds", "0"));
        await using var school = await SmallSchool.OnAsync(host);
        using var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { ReceiveBufferSize = 1024 };
        await socket.ConnectAsync("127.0.0.1", new Uri(host.Url).Port);
        await socket.SendAsync(Encoding.ASCII.GetBytes($"GET /api/v1/events HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {school.Office.DefaultRequestHeaders.Authorization!.Parameter}\r\n\r\n"));
        await UntilAsync(() => host.Live().Streams == 1);
        for (var n = 0; n < 40 && host.Live().Streams == 1; n++)
        {
            await host.SqlAsync("DO $$ BEGIN FOR n IN 1..4000 LOOP PERFORM diary.tell_change('school', NULL, NULL, n); END LOOP; END $$");
            await Task.Delay(100);
        }

        await UntilAsync(() => host.Live().Streams == 0);
    }

    [Fact]
    public void A_reader_who_is_behind_holds_no_more_than_was_said_and_is_told_to_read_anew()
    {
        var live = new LiveDays(new LiveLimits { Waiting = 3, Remembered = 10 });
        var viewer = new Viewer(Guid.NewGuid(), OfficeParts.All, null, null, "Rosalind Pike");
        var stream = live.Open(viewer, out _)!;
        live.Begin("1", new(100, []));
        live.Start(stream, null);
        for (ulong n = 100; n < 110; n++)
        {
            live.Tell(new(DayChangeKind.School, null, null, (long)n), n, new(n, []));
            Assert.InRange(live.MostWaiting, 0, 3);
        }

        Assert.Null(stream.Next(out var anew));
        Assert.True(anew);
        Assert.Null(stream.Next(out anew));
        Assert.False(anew);
        live.Tell(new(DayChangeKind.School, null, null, 110), 110, new(110, []));
        Assert.Equal(110, stream.Next(out _)!.Change.Version);
    }

    private static async Task DripAsync(Socket socket, CancellationToken cancel)
    {
        var octet = new byte[1];
        try
        {
            while (await socket.ReceiveAsync(octet, cancel) > 0)
            {
                await Task.Delay(1000, cancel);
            }
        }
        catch (Exception ended) when (ended is OperationCanceledException or SocketException)
        {
            // It was left, or the test is over.
        }
    }

    private static async Task UntilAsync(Func<bool> reached)
    {
        using var limit = new CancellationTokenSource(LiveReader.Patience);
        while (!reached())
        {
            await Task.Delay(20, limit.Token);
        }
    }
}
