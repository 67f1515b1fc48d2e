using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Core.Travel;
using School.Tests;
using School.Web.Modules.Travel.Routing;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Travel.Routing;

public sealed class RoutingTests(TestPostgres postgres)
{
    private const string Settings = "/api/v1/travel/settings";
    private const string Warning = "The routing server does not answer.";

    [Fact]
    public async Task Drives_of_the_day_are_those_that_the_server_told()
    {
        await using var server = await TableServer.StartAsync();
        await using var school = await SchoolAsync(server);
        var first = (await school.DayAsync()).GetProperty("stops")[0];
        Assert.Equal(school.FirstDriveByServer, first.GetProperty("leg").GetProperty("minutes").GetInt32());
        Assert.Equal(1, server.Asked);
        var status = await school.StatusAsync();
        Assert.Equal(("routingServer", false, "Map data: the surveyors of Larkfield"), (status.GetProperty("source").GetString(), status.GetProperty("fallingBack").GetBoolean(), status.GetProperty("mapAttribution").GetString()));
        var page = await school.PageAsync();
        Assert.DoesNotContain(Warning, page, StringComparison.Ordinal);
        Assert.Contains("Map data: the surveyors of Larkfield", page, StringComparison.Ordinal);
        Assert.Equal(1, server.Asked);
    }

    [Fact]
    public async Task Where_the_server_knows_no_road_the_drive_is_estimated_and_not_asked_again()
    {
        await using var server = await TableServer.StartAsync();
        server.Answer = question => Task.FromResult((200, NoRoads(question)));
        await using var school = await SchoolAsync(server);
        Assert.Equal(school.FirstDriveEstimated, await school.FirstDriveAsync());
        Assert.Equal(school.FirstDriveEstimated, await school.FirstDriveAsync());
        Assert.Equal(1, server.Asked);
        Assert.False((await school.StatusAsync()).GetProperty("fallingBack").GetBoolean());
    }

    [Theory]
    [InlineData("NaN")]
    [InlineData("\"NaN\"")]
    [InlineData("1e999")]
    [InlineData("-60")]
    [InlineData("1000000")]
    [InlineData("0.5")]
    [InlineData("{}")]
    public async Task One_cell_that_cannot_be_true_spoils_the_answer_and_staff_are_told_until_a_good_one(string cell)
    {
        await using var server = await TableServer.StartAsync();
        server.SaysTable(cell);
        await using var school = await SchoolAsync(server);
        await FallsBackAsync(school);
        server.SaysTable();
        Assert.Equal(school.FirstDriveByServer, await school.FirstDriveAsync());
        Assert.False((await school.StatusAsync()).GetProperty("fallingBack").GetBoolean());
        Assert.DoesNotContain(Warning, await school.PageAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("""{"code":"Ok","durations":[],"distances":[]}""", 200)]
    [InlineData("""{"code":"Ok","durations":[[0,1]]}""", 200)]
    [InlineData("""{"code":"NoTable","message":"no"}""", 200)]
    [InlineData("<html>busy</html>", 200)]
    [InlineData("[]", 200)]
    [InlineData("", 200)]
    [InlineData("", 500)]
    [InlineData("", 302)]
    public async Task What_is_no_table_is_not_used(string body, int status)
    {
        await using var server = await TableServer.StartAsync();
        server.Says(body, status);
        await using var school = await SchoolAsync(server);
        await FallsBackAsync(school);
    }

    [Fact]
    public async Task A_table_of_the_wrong_size_is_not_used()
    {
        await using var server = await TableServer.StartAsync();
        server.SaysTable(extraRows: 1);
        await using var school = await SchoolAsync(server);
        await FallsBackAsync(school);
    }

    [Fact]
    public async Task A_server_that_hangs_costs_its_time_limit_and_a_late_answer_is_not_used()
    {
        await using var server = await TableServer.StartAsync();
        server.Waits(TimeSpan.FromSeconds(3));
        await using var school = await SchoolAsync(server, timeout: "0.3");
        await FallsBackAsync(school);
        Assert.Contains("it did not answer within 0.3 seconds", (await school.StatusAsync()).GetProperty("reason").GetString(), StringComparison.Ordinal);
        await Task.Delay(TimeSpan.FromSeconds(3.2));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<KnownDrive>().CountAsync()));
        Assert.True((await school.StatusAsync()).GetProperty("fallingBack").GetBoolean());
    }

    [Fact]
    public async Task An_answer_that_is_too_large_is_told_as_such()
    {
        await using var server = await TableServer.StartAsync();
        server.Says(new string(' ', 5 * 1024 * 1024));
        await using var school = await SchoolAsync(server);
        await FallsBackAsync(school);
        Assert.Contains("larger than 4 MiB", (await school.StatusAsync()).GetProperty("reason").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_server_that_is_not_there_is_told_too()
    {
        var server = await TableServer.StartAsync();
        await using var school = await SchoolAsync(server);
        await server.DisposeAsync();
        await FallsBackAsync(school);
    }

    [Fact]
    public async Task After_three_failures_the_server_is_left_alone_for_a_minute_then_tried_once()
    {
        await using var server = await TableServer.StartAsync();
        server.Says("", 500);
        await using var school = await SchoolAsync(server);
        for (var n = 0; n < 6; n++)
        {
            Assert.Equal(school.FirstDriveEstimated, await school.FirstDriveAsync());
        }

        Assert.Equal(RoutingBreaker.FailuresAllowed, server.Asked);
        school.Host.Clock.Advance(RoutingBreaker.Pause - Duration.FromSeconds(1));
        await school.FirstDriveAsync();
        Assert.Equal(3, server.Asked);
        school.Host.Clock.Advance(Duration.FromSeconds(1));
        await school.FirstDriveAsync();
        await school.FirstDriveAsync();
        Assert.Equal(4, server.Asked);

        server.SaysTable();
        Assert.Equal(school.FirstDriveEstimated, await school.FirstDriveAsync());
        school.Host.Clock.Advance(RoutingBreaker.Pause);
        Assert.Equal(school.FirstDriveByServer, await school.FirstDriveAsync());
        Assert.Equal(5, server.Asked);
        Assert.False((await school.StatusAsync()).GetProperty("fallingBack").GetBoolean());
    }

    [Fact]
    public async Task What_was_told_is_known_after_a_restart_until_it_is_too_old()
    {
        await using var server = await TableServer.StartAsync();
        await using var school = await SchoolAsync(server);
        await school.FirstDriveAsync();
        Assert.Equal(1, server.Asked);
        server.Says("", 500);
        await using (var restarted = school.Host.SecondNode())
        {
            Assert.Equal(school.FirstDriveByServer, await school.FirstDriveAsync(restarted));
            Assert.Equal(1, server.Asked);
        }

        school.Host.Clock.Advance(Duration.FromDays(31));
        await using var old = school.Host.SecondNode();
        Assert.Equal(school.FirstDriveEstimated, await school.FirstDriveAsync(old));
        Assert.Equal(2, server.Asked);
        await using var scope = old.Services.CreateAsyncScope();
        Assert.True(await scope.ServiceProvider.GetRequiredService<ClearOldTravel>().RunAsync(CancellationToken.None) > 0);
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<KnownDrive>().CountAsync()));
    }

    [Fact]
    public async Task Two_nodes_share_the_breaker_and_only_one_of_them_tries()
    {
        await using var server = await TableServer.StartAsync();
        server.Says("", 500);
        await using var school = await SchoolAsync(server);
        await using var second = school.Host.SecondNode();
        await school.FirstDriveAsync();
        await school.FirstDriveAsync(second);
        await school.FirstDriveAsync();
        await school.FirstDriveAsync(second);
        Assert.Equal(3, server.Asked);
        Assert.True((await school.StatusAsync(second)).GetProperty("fallingBack").GetBoolean());

        school.Host.Clock.Advance(RoutingBreaker.Pause);
        server.SaysTable();
        var nodes = new[] { school.Host, second };
        var allowed = await Task.WhenAll(Enumerable.Range(0, 8).Select(n => nodes[n % 2].Services.GetRequiredService<RoutingBreaker>().MayAskAsync(CancellationToken.None)));
        Assert.Single(allowed, yes => yes);
        school.Host.Clock.Advance(RoutingBreaker.Pause);
        Assert.Equal(school.FirstDriveByServer, await school.FirstDriveAsync(second));
        Assert.False((await school.StatusAsync()).GetProperty("fallingBack").GetBoolean());
        Assert.Equal(school.FirstDriveByServer, await school.FirstDriveAsync());
        Assert.Equal(4, server.Asked);
    }

    [Fact]
    public async Task A_server_that_is_back_is_noticed_without_anybody_asking()
    {
        await using var server = await TableServer.StartAsync();
        server.Says("", 500);
        await using var school = await SchoolAsync(server);
        await school.FirstDriveAsync();
        server.SaysTable();
        await using var scope = school.Host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<TryRoutingAgain>().RunAsync(CancellationToken.None);
        Assert.False((await school.StatusAsync()).GetProperty("fallingBack").GetBoolean());
        await scope.ServiceProvider.GetRequiredService<TryRoutingAgain>().RunAsync(CancellationToken.None);
        Assert.Equal(2, server.Asked);
    }

    [Fact]
    public async Task Many_places_are_asked_for_in_questions_that_such_servers_take()
    {
        await using var server = await TableServer.StartAsync();
        await using var school = await SchoolAsync(server);
        var places = Enumerable.Range(0, 130).Select(n => new Coordinates(52 + (n * 0.001), -1.2 + (n % 7 * 0.01))).ToList();
        var drives = await school.Host.Services.GetRequiredService<RoadDrives>().WithinAsync([places], CancellationToken.None);
        Assert.Equal(130 * 129, drives.Count);
        Assert.All(server.Questions, question => Assert.InRange(question.Places.Count, 2, TableClient.MostPlaces));
        var (from, to) = (places[3], places[128]);
        Assert.Equal(from.DistanceMetres(to) * TableQuestion.Detour, drives[(from, to)].Metres, 60.0);
    }

    [Fact]
    public async Task A_search_asks_for_the_places_of_the_lesson_that_is_wanted()
    {
        await using var server = await TableServer.StartAsync();
        await using var school = await SchoolAsync(server);
        var pupil = await school.Host.Data.PupilAsync("Nell Harrower", TestData.PlaceAt(-20, 13, "Heron Way"));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync());
        await office.GetStringAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from=2026-03-02&to=2026-03-03");
        Assert.Contains(server.Questions.SelectMany(question => question.Places), place => place.DistanceMetres(pupil.PickUp.At()) < 10);
    }

    [Fact]
    public async Task A_search_counts_the_servers_minutes_and_not_the_estimates()
    {
        await using var server = await TableServer.StartAsync();
        await using var school = await SchoolAsync(server);
        var pupil = await school.Host.Data.PupilAsync("Nell Harrower", TestData.PlaceAt(-20, 13, "Heron Way"));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync());
        var slots = await (await office.GetAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from=2026-03-03&to=2026-03-03")).JsonAsync();
        var (home, there) = (TestData.PlaceAt(0, 0).At(), pupil.PickUp.At());
        var drive = (int)Math.Ceiling(home.DistanceMetres(there) * TableQuestion.Detour / TableQuestion.MetresPerSecond / 60);
        Assert.NotEqual(drive, new StraightLineTravel(new()).Between(home, there, new(2026, 3, 3, 10, 0)).Minutes);
        var items = slots.GetProperty("items").EnumerateArray().ToList();
        Assert.NotEmpty(items);
        // An empty day: there and back.
        Assert.All(items, item => Assert.Equal(2 * drive, item.GetProperty("extraDrivingMinutes").GetInt32()));
    }

    [Theory]
    [InlineData("Travel:RoutingServer", "ftp://127.0.0.1")]
    [InlineData("Travel:RoutingServer", "my server")]
    [InlineData("Travel:RoutingTimeoutSeconds", "0")]
    [InlineData("Travel:RoutingTimeoutSeconds", "soon")]
    [InlineData("Travel:RoutingKeepDays", "400")]
    public void A_mistake_in_the_configuration_is_named(string key, string value)
    {
        var configuration = new ConfigurationBuilder().AddInMemoryCollection([new(key, value)]).Build();
        Assert.Contains(key, Assert.Throws<InvalidOperationException>(() => RoutingSettings.Read(configuration)).Message, StringComparison.Ordinal);
    }

    private static string NoRoads(TableQuestion question)
    {
        var rows = string.Join(',', question.Sources.Select(_ => "[" + string.Join(',', question.Destinations.Select(_ => "null")) + "]"));
        return $$"""{"code":"Ok","durations":[{{rows}}],"distances":[{{rows}}]}""";
    }

    private static async Task FallsBackAsync(RoutedSchool school)
    {
        Assert.Equal(school.FirstDriveEstimated, await school.FirstDriveAsync());
        var status = await school.StatusAsync();
        Assert.True(status.GetProperty("fallingBack").GetBoolean());
        Assert.NotEmpty(status.GetProperty("reason").GetString()!);
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<KnownDrive>().CountAsync()));
        Assert.Contains(Warning, await school.PageAsync(), StringComparison.Ordinal);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        Assert.Contains(Warning, await office.GetStringAsync("/travel/settings"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_booking_and_a_move_wait_for_the_server_before_they_lock_and_not_under_the_locks()
    {
        await using var server = await TableServer.StartAsync();
        await using var routed = await SchoolAsync(server);
        await using var school = await SmallSchool.OnAsync(routed.Host);
        await using var owner = NpgsqlDataSource.Create(routed.Host.ConnectionString);
        var locks = new List<long>();
        server.Answer = async question =>
        {
            await using var ask = owner.CreateCommand(
                "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND database = (SELECT oid FROM pg_database WHERE datname = current_database())");
            locks.Add((long)(await ask.ExecuteScalarAsync())!);
            return (200, question.Table());
        };

        var thursday = DiaryApi.London(2026, 3, 5, 10);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, thursday)).Id();
        var other = await routed.Host.Data.PupilAsync("Corin Vale", TestData.PlaceAt(7, 3));
        await school.Office.BookedAsync(other.Id, school.InstructorId, thursday + Duration.FromHours(26));
        Assert.NotEmpty(locks);
        await (await school.Office.MoveAsync(lesson, thursday + Duration.FromHours(28))).JsonAsync();

        Assert.Equal(Enumerable.Repeat(0L, server.Asked), locks);
    }

    private async Task<RoutedSchool> SchoolAsync(TableServer server, string timeout = "10")
    {
        var host = await SchoolHost.StartAsync(
            postgres, wallClock: false, ("Travel:RoutingServer", server.Url), ("Travel:RoutingTimeoutSeconds", timeout), ("Travel:MapAttribution", "Map data: the surveyors of Larkfield"));
        return new(host, await LarkfieldMonday.SeedAsync(host));
    }

    /// <summary>Larkfield's Monday on a host with a routing server.</summary>
    private sealed class RoutedSchool(SchoolHost host, LarkfieldMonday monday) : IAsyncDisposable
    {
        public SchoolHost Host => host;

        // From home to Mill Lane: 14 and 4 steps of TestData.PlaceAt.
        private static (Coordinates From, Coordinates To) FirstDrive => (TestData.PlaceAt(0, 0).At(), TestData.PlaceAt(14, 4).At());

        public int FirstDriveByServer { get; } =
            (int)Math.Ceiling(FirstDrive.From.DistanceMetres(FirstDrive.To) * TableQuestion.Detour / TableQuestion.MetresPerSecond / 60);

        public int FirstDriveEstimated { get; } =
            new StraightLineTravel(new()).Between(FirstDrive.From, FirstDrive.To, LarkfieldMonday.Date.At(new(8, 30))).Minutes;

        public async Task<JsonElement> DayAsync(SchoolHost? node = null)
        {
            using var office = await (node ?? host).ApiAsAsync(await host.Data.OfficeAsync());
            return await (await office.GetAsync($"/api/v1/instructors/{monday.Marigold.Id}/day/2026-03-02")).JsonAsync();
        }

        public async Task<int> FirstDriveAsync(SchoolHost? node = null) =>
            (await DayAsync(node)).GetProperty("stops")[0].GetProperty("leg").GetProperty("minutes").GetInt32();

        public async Task<JsonElement> StatusAsync(SchoolHost? node = null)
        {
            using var office = await (node ?? host).ApiAsAsync(await host.Data.OfficeAsync());
            return (await (await office.GetAsync(Settings)).JsonAsync()).GetProperty("status");
        }

        public async Task<string> PageAsync()
        {
            using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
            return await browser.GetStringAsync($"/diary/day?date=2026-03-02&instructorId={monday.Marigold.Id}");
        }

        public ValueTask DisposeAsync() => host.DisposeAsync();
    }
}
