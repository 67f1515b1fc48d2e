using System.Globalization;
using System.Threading.RateLimiting;
using Microsoft.AspNetCore.RateLimiting;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Security;

/// <summary>
/// How many requests of one signed-in person a node works on at a time; more wait their turn, so that a program which asks for
/// much at once makes itself slow and not the others. What stays open for long, such as a stream, has to be left out.
/// </summary>
internal static class PersonLimit
{
    public const int AtOnce = 4;
    public const int MostWaiting = 200;
    private const int ComeAgainSeconds = 2;

    private static readonly Refusal TooMany = new(
        RefusalKind.TooMany, "too_many_at_once", $"More than {MostWaiting} of your requests wait already. Send fewer at a time.");

    public static IServiceCollection AddPersonLimit(this IServiceCollection services) => services.AddRateLimiter(options =>
    {
        options.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
        options.GlobalLimiter = PartitionedRateLimiter.Create<HttpContext, Guid>(context => Viewer.From(context.User) is { } viewer
            ? RateLimitPartition.GetConcurrencyLimiter(viewer.PersonId, _ => new() { PermitLimit = AtOnce, QueueLimit = MostWaiting })
            : RateLimitPartition.GetNoLimiter(Guid.Empty));
        options.OnRejected = async (rejected, _) =>
        {
            var context = rejected.HttpContext;
            context.Response.Headers.RetryAfter = ComeAgainSeconds.ToString(CultureInfo.InvariantCulture);
            if (context.IsApi())
            {
                await TooMany.ToProblem().ExecuteAsync(context);
            }
        };
    });
}
