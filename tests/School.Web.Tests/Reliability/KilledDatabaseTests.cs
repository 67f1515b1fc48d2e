using System.Collections.Concurrent;
using System.Diagnostics;
using System.Net;
using System.Net.Http.Json;
using System.Runtime.Versioning;
using System.Text.Json;
using NodaTime.Text;
using Npgsql;
using School.Tests;
using School.Web.Platform.LocalPostgres;
using School.Web.Tests.Host;

namespace School.Web.Tests.Reliability;

/// <summary>The private database is killed in the middle of bookings; what was acknowledged must be there afterwards.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class KilledDatabaseTests(TestPostgres postgres)
{
    private const int Rounds = 3;

    [Fact]
    public async Task Every_acknowledged_booking_survives_kill_9_of_the_private_database()
    {
        var folder = Directory.CreateTempSubdirectory("school-killed-");
        try
        {
            await using var cluster = await LocalCluster.StartAsync(folder.FullName);
            await using var host = await SchoolHost.OnAsync(postgres, cluster.OwnerConnectionString, cluster.ConnectionString);
            var instructor = await host.Data.InstructorAsync();
            var office = await host.TokenAsync(await host.Data.OfficeAsync());
            var pupils = new List<Guid>();
            for (var n = 0; n < 4; n++)
            {
                pupils.Add((await host.Data.PupilAsync($"Pupil {n}")).Id);
            }

            await using var node = await RunningNode.StartAsync(cluster.ConnectionString);
            var acknowledged = new ConcurrentBag<Guid>();
            var day = SchoolHost.WallDate.PlusDays(2);
            for (var round = 0; round < Rounds; round++)
            {
                using var enough = new CancellationTokenSource();
                var booking = pupils.Select((pupil, n) => BookUntilAsync(node, office, pupil, instructor.Id, day.PlusDays((round * 100) + (n * 20)), acknowledged, enough.Token)).ToList();
                var before = acknowledged.Count;
                await UntilAsync(() => acknowledged.Count > before + 3);
                using (var postmaster = Process.GetProcessById(cluster.ClusterProcessId))
                {
                    postmaster.Kill();
                }

                // It books again once the cluster has been restarted: nobody has to lend a hand.
                var killedAt = acknowledged.Count;
                // Each may still have been answered for a booking from before the kill.
                await UntilAsync(() => acknowledged.Count > killedAt + pupils.Count + 3);
                await enough.CancelAsync();
                await Task.WhenAll(booking);
            }

            var kept = await LessonsAsync(cluster.ConnectionString);
            Assert.NotEmpty(acknowledged);
            Assert.DoesNotContain(acknowledged, id => !kept.Contains(id));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    /// <summary>Over a connection of its own: those that were open at the kill are broken.</summary>
    private static async Task<HashSet<Guid>> LessonsAsync(string connectionString)
    {
        await using var connection = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false }.ConnectionString);
        await connection.OpenAsync();
        await using var overlaps = new NpgsqlCommand(RaceTests.Overlaps, connection);
        Assert.Equal(0, await overlaps.ExecuteScalarAsync());
        await using var lessons = new NpgsqlCommand("SELECT id FROM diary.lessons", connection);
        await using var rows = await lessons.ExecuteReaderAsync();
        var ids = new HashSet<Guid>();
        while (await rows.ReadAsync())
        {
            ids.Add(rows.GetGuid(0));
        }

        return ids;
    }

    private static async Task BookUntilAsync(
        RunningNode node, string token, Guid pupil, Guid instructor, NodaTime.LocalDate from, ConcurrentBag<Guid> acknowledged, CancellationToken enough)
    {
        using var http = node.Client(token);
        for (var n = 0; !enough.IsCancellationRequested; n++)
        {
            var start = RaceTests.StartOf(from.PlusDays(n / 4), 9 + (2 * (n % 4)));
            try
            {
                using var answer = await http.PostAsJsonAsync(
                    "/api/v1/lessons",
                    new { pupilId = pupil, instructorId = instructor, start = InstantPattern.General.Format(start), minutes = 60 },
                    CancellationToken.None);
                if (answer.StatusCode == HttpStatusCode.Created)
                {
                    acknowledged.Add((await answer.Content.ReadFromJsonAsync<JsonElement>(CancellationToken.None)).GetProperty("id").GetGuid());
                }
                else if (answer.StatusCode is HttpStatusCode.ServiceUnavailable or HttpStatusCode.InternalServerError)
                {
                    await Task.Delay(100, CancellationToken.None);
                }
                else
                {
                    // Taken already, perhaps by the request before the kill whose answer never came.
                    Assert.Equal(HttpStatusCode.Conflict, answer.StatusCode);
                }
            }
            catch (HttpRequestException)
            {
                await Task.Delay(100, CancellationToken.None);
            }
        }
    }

    private static async Task UntilAsync(Func<bool> done)
    {
        var patience = Stopwatch.StartNew();
        while (!done())
        {
            Assert.True(patience.Elapsed < TimeSpan.FromSeconds(60), "Nothing was booked for a minute.");
            await Task.Delay(20);
        }
    }
}
