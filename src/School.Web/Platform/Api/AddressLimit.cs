using Microsoft.AspNetCore.Server.Kestrel.Core;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

/// <summary>
/// Refuses addresses that are too long with a sentence. The server itself would answer with a bare status before anything of ours runs,
/// so it takes longer ones than are answered.
/// </summary>
internal static class AddressLimit
{
    public const int Longest = 8 * 1024;
    private const int LongestLine = 64 * 1024;

    public static void Configure(KestrelServerLimits limits) => limits.MaxRequestLineSize = LongestLine;

    public static IApplicationBuilder UseAddressLimit(this IApplicationBuilder app) => app.Use((context, next) =>
        context.Request.Path.Value?.Length + context.Request.QueryString.Value?.Length > Longest
            ? context.IsApi() ? TooLong.ToProblem().ExecuteAsync(context) : Results.Text(TooLong.For(null), statusCode: StatusCodes.Status414UriTooLong).ExecuteAsync(context)
            : next(context));

    private static readonly Refusal TooLong = new(RefusalKind.AddressTooLong, "address_too_long", "This address is too long. Send less in it.");
}
