using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;

namespace School.Web.Modules.School.Contracts;

/// <summary>
/// Where the service is reached from outside, for links in mails: the setting <c>School:PublicUrl</c>, never the Host header of a request. Without it
/// links lead to where the service listens on this machine.
/// </summary>
internal sealed partial class PublicUrl(IConfiguration configuration, IServer? server = null)
{
    // The demo makes its school before anything listens.
    private const string Unset = "http://localhost:5000";

    private string? Setting => configuration["School:PublicUrl"] is { Length: > 0 } set ? set.TrimEnd('/') : null;

    /// <summary>Whether somebody has said what it is.</summary>
    public bool IsSet => Setting is not null;

    public string Of(string pathAndQuery) => (Setting ?? Here()) + pathAndQuery;

    [LoggerMessage(LogLevel.Warning, "School:PublicUrl is not set: links in mails lead to this machine and to nobody else's.")]
    public static partial void NotSet(ILogger logger);

    /// <summary>The first address that it listens on, or will.</summary>
    private string Here()
    {
        var listens = server?.Features.Get<IServerAddressesFeature>()?.Addresses.FirstOrDefault() ?? configuration["urls"]?.Split(';')[0];
        var address = BindingAddress.Parse(string.IsNullOrEmpty(listens) ? Unset : listens);
        return $"{address.Scheme}://{(address.Host is "+" or "*" or "0.0.0.0" or "[::]" ? "127.0.0.1" : address.Host)}:{address.Port}";
    }
}
