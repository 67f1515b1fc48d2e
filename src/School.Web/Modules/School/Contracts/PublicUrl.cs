namespace School.Web.Modules.School.Contracts;

/// <summary>Where the service is reached from outside, for links in mails: the setting <c>School:PublicUrl</c>, never the Host header of a request.</summary>
internal sealed partial class PublicUrl(IConfiguration configuration)
{
    private readonly string _root = (configuration["School:PublicUrl"] ?? "http://127.0.0.1:5080").TrimEnd('/');

    public string Of(string pathAndQuery) => _root + pathAndQuery;

    [LoggerMessage(LogLevel.Warning, "School:PublicUrl is not set: links in mails lead to this machine and to nobody else's.")]
    public static partial void NotSet(ILogger logger);
}
