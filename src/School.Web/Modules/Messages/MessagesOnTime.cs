using Microsoft.Extensions.Diagnostics.HealthChecks;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages;

/// <summary>
/// Degraded while messages wait that should have gone: mail is stuck, by whatever cause. The node serves all the same, so this
/// never takes it out of the proxy's turn.
/// </summary>
internal sealed class MessagesOnTime(MessageQueries messages) : IHealthCheck
{
    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        await messages.LateAsync(cancellationToken) is { } late
            ? HealthCheckResult.Degraded($"{late.Count} {(late.Count == 1 ? "message" : "messages")} should have gone and wait, the oldest since {late.Since}.")
            : HealthCheckResult.Healthy();
}
