using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace School.Web.Platform.Keys;

/// <summary>Not ready while this node cannot open the keys: nobody could sign in here. Anybody may read this, so it names no file and no key.</summary>
internal sealed class KeysFit(KeyRing ring) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(ring.Look().Are == KeysAre.Locked
            ? HealthCheckResult.Unhealthy("This node cannot open the keys in the database: its key file is missing or another one. The log says more.")
            : HealthCheckResult.Healthy());
}
