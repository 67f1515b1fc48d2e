using System.Diagnostics;
using System.Net;
using Npgsql;
using School.Tests;
using School.Web.Platform.Security;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Security;

public sealed class PersonLimitTests(TestPostgres postgres)
{
    [Fact]
    public async Task One_person_holds_few_requests_at_a_time_and_the_others_go_on()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var busy = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var other = await host.ApiAsAsync(await host.Data.OfficeAsync());

        // Whoever reads cars waits for this lock, as somebody whose questions are slow.
        await using var connection = new NpgsqlConnection(host.ConnectionString);
        await connection.OpenAsync();
        await using var transaction = await connection.BeginTransactionAsync();
        await using (var take = new NpgsqlCommand("LOCK TABLE cars.cars IN ACCESS EXCLUSIVE MODE", connection, transaction))
        {
            await take.ExecuteNonQueryAsync();
        }

        var asked = Enumerable.Range(0, 24).Select(_ => busy.GetAsync("/api/v1/cars")).ToList();
        var most = 0L;
        var watch = Stopwatch.StartNew();
        while (watch.Elapsed < TimeSpan.FromSeconds(3))
        {
            most = Math.Max(most, await WaitingAsync(connection, transaction));
            await Task.Delay(50);
        }

        Assert.InRange(most, 1, PersonLimit.AtOnce);
        Assert.Equal(HttpStatusCode.OK, (await other.GetAsync("/api/v1/tokens")).StatusCode);
        await transaction.RollbackAsync();
        Assert.All(await Task.WhenAll(asked), answer => Assert.Equal(HttpStatusCode.OK, answer.StatusCode));
    }

    [Fact]
    public async Task Who_asks_for_more_than_can_wait_is_told_when_to_come_again()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var busy = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await using var connection = new NpgsqlConnection(host.ConnectionString);
        await connection.OpenAsync();
        await using var transaction = await connection.BeginTransactionAsync();
        await using (var take = new NpgsqlCommand("LOCK TABLE cars.cars IN ACCESS EXCLUSIVE MODE", connection, transaction))
        {
            await take.ExecuteNonQueryAsync();
        }

        var asked = Enumerable.Range(0, PersonLimit.AtOnce + PersonLimit.MostWaiting + 3).Select(_ => busy.GetAsync("/api/v1/cars")).ToList();
        var refused = await await Task.WhenAny(asked);
        Assert.Equal(HttpStatusCode.TooManyRequests, refused.StatusCode);
        Assert.Equal("too_many_at_once", await refused.CodeAsync());
        Assert.NotNull(refused.Headers.RetryAfter?.Delta);
        var watch = Stopwatch.StartNew();
        while (asked.Count(answer => answer.IsCompleted) < 3 && watch.Elapsed < TimeSpan.FromSeconds(60))
        {
            await Task.Delay(20);
        }

        await transaction.RollbackAsync();
        var answers = await Task.WhenAll(asked);
        Assert.Equal(3, answers.Count(answer => answer.StatusCode == HttpStatusCode.TooManyRequests));
    }

    private static async Task<long> WaitingAsync(NpgsqlConnection connection, NpgsqlTransaction transaction)
    {
        await using var count = new NpgsqlCommand(
            "SELECT count(*) FROM pg_locks WHERE NOT granted AND relation = 'cars.cars'::regclass AND database = (SELECT oid FROM pg_database WHERE datname = current_database())",
            connection,
            transaction);
        return (long)(await count.ExecuteScalarAsync())!;
    }
}
