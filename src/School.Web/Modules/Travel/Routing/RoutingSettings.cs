using System.Globalization;
using NodaTime;

namespace School.Web.Modules.Travel.Routing;

/// <summary>The school's own routing server, if it runs one: configuration, not a setting of the office.</summary>
internal sealed record RoutingSettings(Uri? Server, TimeSpan Timeout, Duration Keep, string Attribution)
{
    private const double LongestTimeout = 30;
    private const double LongestKeepDays = 365;

    public bool HasServer => Server is not null;

    /// <summary>Reads <c>Travel:*</c>; a mistake stops the start with a sentence.</summary>
    public static RoutingSettings Read(IConfiguration configuration)
    {
        var travel = configuration.GetSection("Travel");
        return new(
            ReadServer(travel["RoutingServer"]),
            TimeSpan.FromSeconds(ReadNumber(travel, "RoutingTimeoutSeconds", 2, 0.1, LongestTimeout)),
            Duration.FromDays(ReadNumber(travel, "RoutingKeepDays", 30, 1, LongestKeepDays)),
            travel["MapAttribution"]?.Trim() ?? "");
    }

    private static Uri? ReadServer(string? typed)
    {
        if (string.IsNullOrWhiteSpace(typed))
        {
            return null;
        }

        return Uri.TryCreate(typed.TrimEnd('/') + '/', UriKind.Absolute, out var server) && server.Scheme is "http" or "https" && server.Query.Length == 0
            ? server
            : throw new InvalidOperationException($"Travel:RoutingServer is “{typed}”. Give an address such as http://127.0.0.1:5000.");
    }

    private static double ReadNumber(IConfigurationSection travel, string name, double usual, double least, double most) =>
        travel[name] is not { Length: > 0 } typed ? usual
        : double.TryParse(typed, NumberStyles.Float, CultureInfo.InvariantCulture, out var number) && number >= least && number <= most ? number
        : throw new InvalidOperationException($"Travel:{name} is “{typed}”. Give a number from {least.ToString(CultureInfo.InvariantCulture)} to {most}.");
}
