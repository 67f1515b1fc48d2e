using System.Text;
using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace School.Web.Platform.Health;

/// <summary>
/// Whether this node can serve, always within two seconds: a database that has stopped in the middle of a word keeps a question
/// for minutes. One question runs at a time, so that those who ask meanwhile wait for the same answer and take no connections.
/// </summary>
internal sealed class Readiness(HealthCheckService checks)
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(2);
    private readonly Lock gate = new();
    private Task<HealthReport>? asked;

    public static async Task AnswerAsync(HttpContext context)
    {
        var report = await context.RequestServices.GetRequiredService<Readiness>().AskAsync();
        context.Response.StatusCode = report is null or { Status: HealthStatus.Unhealthy } ? StatusCodes.Status503ServiceUnavailable : StatusCodes.Status200OK;
        context.Response.ContentType = "text/plain; charset=utf-8";
        await context.Response.WriteAsync(report is null ? $"Unhealthy\ndatabase: no answer within {Limit.TotalSeconds:0} seconds.\n" : Words(report));
    }

    /// <summary>Null where there was no answer in time.</summary>
    private async Task<HealthReport?> AskAsync()
    {
        Task<HealthReport> answer;
        lock (gate)
        {
            answer = asked is { IsCompleted: false } ? asked : asked = Task.Run(() => checks.CheckHealthAsync());
        }

        try
        {
            return await answer.WaitAsync(Limit);
        }
        catch (TimeoutException)
        {
            return null;
        }
    }

    /// <summary>How it is in one word, then a line for each that is not well. Anybody reads it: what an exception says stays in the log.</summary>
    private static string Words(HealthReport report)
    {
        var words = new StringBuilder().Append(report.Status).Append('\n');
        foreach (var (name, entry) in report.Entries.Where(e => e.Value.Status != HealthStatus.Healthy))
        {
            words.Append(name).Append(": ").Append((entry.Exception is null ? entry.Description : null) ?? "does not answer.").Append('\n');
        }

        return words.ToString();
    }
}
