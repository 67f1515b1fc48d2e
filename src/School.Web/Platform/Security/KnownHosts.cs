using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Security;

/// <summary>
/// Answers only to the names that the service has: that of <c>School:PublicUrl</c>, those of <c>School:OtherHosts</c>, and this machine's own.
/// Health answers to any, because what asks for it calls a node by its address. Without a public address every name is taken.
/// </summary>
internal static class KnownHosts
{
    private static readonly string[] ThisMachine = ["localhost", "127.0.0.1", "[::1]"];

    private static readonly Refusal Unknown = new(
        RefusalKind.Invalid, "unknown_host", "This service does not answer to that name. Use the address that the school gave you.");

    public static bool IsThisMachine(HostString host) => ThisMachine.Contains(host.Host, StringComparer.OrdinalIgnoreCase);

    public static void UseKnownHosts(this WebApplication app)
    {
        if (!Uri.TryCreate(app.Configuration["School:PublicUrl"], UriKind.Absolute, out var own))
        {
            return;
        }

        var others = (app.Configuration["School:OtherHosts"] ?? "").Split([',', ' '], StringSplitOptions.RemoveEmptyEntries);
        var names = ThisMachine.Append(own.Host).Concat(others).ToHashSet(StringComparer.OrdinalIgnoreCase);
        app.Use((context, next) => names.Contains(context.Request.Host.Host) || context.Request.Path.StartsWithSegments("/health")
            ? next(context)
            : RefuseAsync(context));
    }

    private static Task RefuseAsync(HttpContext context) =>
        context.IsApi() ? Unknown.ToProblem().ExecuteAsync(context) : Results.Text(Unknown.For(null), statusCode: StatusCodes.Status400BadRequest).ExecuteAsync(context);
}
