namespace School.Web.Platform.Api;

/// <summary>
/// A body that says it is too large is refused before it is read. Kestrel's own limit also ends one that does not say; this
/// one holds in every host.
/// </summary>
internal static class BodyLimit
{
    public const long Largest = 1 << 20;

    public static IApplicationBuilder UseBodyLimit(this IApplicationBuilder app) => app.Use((context, next) =>
        context.Request.ContentLength > Largest
            ? throw new BadHttpRequestException("The body is too large.", StatusCodes.Status413PayloadTooLarge)
            : next(context));
}
