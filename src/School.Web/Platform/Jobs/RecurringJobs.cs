using Hangfire;
using Hangfire.Storage;
using NodaTime;

namespace School.Web.Platform.Jobs;

/// <summary>A recurring job that a module asked for.</summary>
/// <param name="Name">What it is called.</param>
/// <param name="Period">The longest time between two runs.</param>
/// <param name="Add">Writes it down; twice is the same as once.</param>
internal sealed record RecurringJobName(string Name, Duration Period, Action<IRecurringJobManager> Add);

/// <summary>
/// Writes the modules' recurring jobs down at start, and sets anew what lies further ahead than one period: a clock that was
/// ahead once leaves a next run that never comes, and nothing else would look at it again.
/// </summary>
internal sealed partial class RecurringJobs(
    IRecurringJobManager jobs, JobStorage storage, IEnumerable<RecurringJobName> names, IClock clock, ILogger<RecurringJobs> logger) : BackgroundService
{
    private static readonly TimeSpan Between = TimeSpan.FromMinutes(1);

    /// <summary>Nodes differ by a little, and the second that it is just now counts too.</summary>
    private static readonly Duration Slack = Duration.FromMinutes(1);

    public override Task StartAsync(CancellationToken cancellationToken)
    {
        foreach (var name in names)
        {
            name.Add(jobs);
        }

        SetAnew();
        return base.StartAsync(cancellationToken);
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Between);
        while (await timer.WaitForNextTickAsync(stoppingToken))
        {
            try
            {
                SetAnew();
            }
            catch (Exception problem) when (problem is not OperationCanceledException)
            {
                // The database is away, most likely; the next look is a minute off.
                NotLookedAt(logger, problem);
            }
        }
    }

    /// <summary>Takes away what lies too far ahead, and writes it down as new.</summary>
    internal void SetAnew()
    {
        var now = clock.GetCurrentInstant();
        using var connection = storage.GetConnection();
        var known = connection.GetRecurringJobs().ToDictionary(job => job.Id, StringComparer.Ordinal);
        foreach (var name in names)
        {
            if (known.TryGetValue(name.Name, out var job) && job.NextExecution is { } next)
            {
                var ahead = Instant.FromDateTimeUtc(next);
                if (ahead <= now + name.Period + Slack)
                {
                    continue;
                }

                SettingAnew(logger, name.Name, ahead);
                jobs.RemoveIfExists(name.Name);
                name.Add(jobs);
            }
        }
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "The job {Name} was to run next at {Ahead}, further ahead than it can be: a clock was wrong. It is set anew")]
    private static partial void SettingAnew(ILogger logger, string name, Instant ahead);

    [LoggerMessage(Level = LogLevel.Warning, Message = "The recurring jobs could not be looked at")]
    private static partial void NotLookedAt(ILogger logger, Exception problem);
}
