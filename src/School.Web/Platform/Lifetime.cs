using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace School.Web.Platform;

/// <summary>Not ready as soon as the process is asked to stop, so that a proxy sends nothing more while requests finish.</summary>
internal sealed class NotStopping(IHostApplicationLifetime lifetime) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(lifetime.ApplicationStopping.IsCancellationRequested ? HealthCheckResult.Unhealthy("Stopping.") : HealthCheckResult.Healthy());
}

internal static class Lifetime
{
    /// <summary>Keeps serving for a moment after the signal, for the proxy to notice; then requests have 30 seconds to finish.</summary>
    public static void DrainBeforeStopping(this WebApplication app)
    {
        var drain = TimeSpan.FromSeconds(app.Configuration.GetValue("School:DrainSeconds", 0));
        app.Lifetime.ApplicationStopping.Register(() => Thread.Sleep(drain));
    }

    /// <summary>Says where it answers, for scripts and people that wait for it.</summary>
    public static void SayWhenReady(this WebApplication app, Action? afterwards = null) => app.Lifetime.ApplicationStarted.Register(() =>
    {
        foreach (var url in app.Urls)
        {
            Console.Out.WriteLine($"ready {url}");
        }

        afterwards?.Invoke();
        Console.Out.Flush();
    });
}
