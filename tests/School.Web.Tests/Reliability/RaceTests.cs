using System.Collections.Concurrent;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Reliability;

/// <summary>Many people press at once, through two nodes on one database.</summary>
public sealed class RaceTests(TestPostgres postgres)
{
    private const int Clients = 50;
    private const int Slots = 20;

    /// <summary>Any two lessons that are not cancelled and share a moment and an instructor, a car or a pupil.</summary>
    internal const string Overlaps =
        """
        SELECT count(*)::int AS "Value" FROM diary.lessons a JOIN diary.lessons b
          ON a.id < b.id AND a.state <> 'Cancelled' AND b.state <> 'Cancelled'
         AND a.starts_at < b.ends_at AND b.starts_at < a.ends_at
         AND (a.instructor_id = b.instructor_id OR a.car_id = b.car_id OR a.pupil_id = b.pupil_id)
        """;

    [Fact]
    public async Task Fifty_clients_racing_for_twenty_slots_through_two_nodes_never_share_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres, wallClock: true);
        var instructor = await host.Data.InstructorAsync();
        var tomorrow = SchoolHost.WallDate.PlusDays(3);
        var starts = Enumerable.Range(0, Slots).Select(n => StartOf(tomorrow.PlusDays(n / 4), 9 + (2 * (n % 4)))).ToList();
        var tokens = new List<(Guid Pupil, string Token)>();
        for (var n = 0; n < Clients; n++)
        {
            var pupil = await host.Data.PupilAsync($"Pupil {n}");
            tokens.Add((pupil.Id, await host.TokenAsync(await host.Data.PersonAsync(pupil))));
        }

        await using var first = await RunningNode.StartAsync(host.ServiceConnectionString);
        await using var second = await RunningNode.StartAsync(host.ServiceConnectionString);
        var answers = new ConcurrentBag<(HttpStatusCode Status, string Body)>();
        await Task.WhenAll(tokens.Select(async (client, n) =>
        {
            using var http = (n % 2 == 0 ? first : second).Client(client.Token);
            foreach (var start in starts)
            {
                using var answer = await http.PostAsJsonAsync("/api/v1/lessons", new
                {
                    pupilId = client.Pupil,
                    instructorId = instructor.Id,
                    start = InstantPattern.General.Format(start),
                    minutes = 60,
                });
                answers.Add((answer.StatusCode, await answer.Content.ReadAsStringAsync()));
            }
        }));

        Assert.Equal(Clients * Slots, answers.Count);
        var winners = answers.Count(a => a.Status == HttpStatusCode.Created);
        Assert.Equal(Slots, winners);
        Assert.All(answers.Where(a => a.Status != HttpStatusCode.Created), loser =>
        {
            Assert.Equal(HttpStatusCode.Conflict, loser.Status);
            Assert.True(JsonDocument.Parse(loser.Body).RootElement.TryGetProperty("code", out _), loser.Body);
        });
        Assert.Equal(0, await host.WithDbAsync(db => db.Database.SqlQueryRaw<int>(Overlaps).SingleAsync()));
        Assert.Equal(Slots, await host.WithDbAsync(db => db.Database.SqlQueryRaw<int>("SELECT count(*)::int AS \"Value\" FROM diary.lessons").SingleAsync()));
    }

    internal static Instant StartOf(LocalDate date, int hour) => (date + new LocalTime(hour, 0)).InZoneStrictly(SchoolHost.London).ToInstant();
}
