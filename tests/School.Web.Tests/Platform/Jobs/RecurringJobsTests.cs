using Hangfire;
using Hangfire.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Platform.Jobs;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Jobs;

public sealed class RecurringJobsTests(TestPostgres postgres)
{
    private const string FarAhead = "2099-01-01T00:00:00.0000000Z";

    [Fact]
    public async Task A_clock_that_was_ahead_once_stops_no_job_for_longer_than_the_next_look()
    {
        await using var host = await SchoolHost.StartAsync(postgres, wallClock: true);
        await using (var first = Running(host))
        {
            Assert.True(IsSoon(first.Services));
        }

        await PutOffAsync(host);
        await using var second = Running(host);
        Assert.True(IsSoon(second.Services), "Not set anew at the start.");
        Assert.Equal(second.Services.GetServices<RecurringJobName>().Count(), Names(second.Services).Count);

        await PutOffAsync(host);
        Assert.False(IsSoon(second.Services));
        second.Services.GetServices<IHostedService>().OfType<RecurringJobs>().Single().SetAnew();
        Assert.True(IsSoon(second.Services), "Not set anew by the regular look.");
    }

    [Theory]
    [InlineData("*/5 * * * * *", 5)]
    [InlineData("*/15 * * * * *", 15)]
    [InlineData("* * * * *", 60)]
    [InlineData("0 * * * * *", 60)]
    [InlineData("*/5 * * * *", 300)]
    [InlineData("7 * * * *", 3600)]
    [InlineData("0 */6 * * *", 21_600)]
    [InlineData("*/5 8-18 * * *", 86_400)]
    [InlineData("0 3 * * *", 86_400)]
    [InlineData("0 3 * * 1", 604_800)]
    [InlineData("0 3 1 * *", 2_678_400)]
    [InlineData("0 3 1 1 *", 31_622_400)]
    public void The_next_time_lies_at_most_so_many_seconds_ahead(string cron, int seconds) =>
        Assert.Equal(Duration.FromSeconds(seconds), CronPeriod.Of(cron));

    [Fact]
    public void Something_that_is_no_cron_expression_is_told_at_the_start() => Assert.Throws<ArgumentException>(() => CronPeriod.Of("daily"));

    private static Microsoft.AspNetCore.Mvc.Testing.WebApplicationFactory<Program> Running(SchoolHost host) =>
        host.WithWebHostBuilder(builder => builder.UseSetting("School:RunJobs", "true"));

    private static List<RecurringJobDto> Names(IServiceProvider services)
    {
        using var connection = services.GetRequiredService<JobStorage>().GetConnection();
        return connection.GetRecurringJobs();
    }

    /// <summary>Whether the sending job, every fifteen seconds, comes within a minute.</summary>
    private static bool IsSoon(IServiceProvider services) =>
        Instant.FromDateTimeUtc(Names(services).Single(job => job.Id == SendDueMessages.Job).NextExecution!.Value)
            < services.GetRequiredService<IClock>().GetCurrentInstant() + Duration.FromMinutes(1);

    /// <summary>What a node writes whose clock is seventy years ahead.</summary>
    private static Task<int> PutOffAsync(SchoolHost host) => host.WithDbAsync(db => db.Database.ExecuteSqlAsync(
        $"""
         UPDATE hangfire.hash SET value = {FarAhead} WHERE key LIKE 'recurring-job:%' AND field = 'NextExecution';
         UPDATE hangfire.set SET score = 4070908800 WHERE key = 'recurring-jobs'
         """));
}
