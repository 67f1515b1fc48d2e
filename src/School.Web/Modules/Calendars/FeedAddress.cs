namespace School.Web.Modules.Calendars;

/// <summary>The address of a feed, under the setting <c>School:PublicUrl</c> or else where the request came in.</summary>
internal sealed record FeedAddress(string Url)
{
    public const string Path = "/calendar";

    /// <summary>The scheme that calendar programs answer to by subscribing. It stands for https and http alike.</summary>
    public string Webcal => $"webcal://{Url.Split("://", 2)[^1]}";

    public static FeedAddress Of(string secret, HttpRequest request, IConfiguration configuration)
    {
        var school = configuration["School:PublicUrl"] is { Length: > 0 } set ? set.TrimEnd('/') : $"{request.Scheme}://{request.Host}";
        return new($"{school}{Path}/{secret}.ics");
    }
}
