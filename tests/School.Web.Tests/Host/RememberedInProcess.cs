using Microsoft.Extensions.DependencyInjection;
using School.Web.Modules;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Syllabus;

namespace School.Web.Tests.Host;

/// <summary>
/// The singletons of the service, each with why it may live on from one test to the next. State that all nodes must agree on is in the
/// database, so there are few; a new one is put here after a thought about what it remembers (<see cref="SharedHostTests"/> tells).
/// </summary>
internal static class RememberedInProcess
{
    private const string Settings = "read from settings, never changed";
    private const string Routing = "used only with a routing server, which is a setting: such a host serves one test";

    public static IReadOnlyDictionary<string, string> Known { get; } = new Dictionary<string, string>
    {
        ["RoutingSettings"] = Settings,
        ["TableClient"] = Routing,
        ["RoutingBreaker"] = Routing,
        ["RoadDrives"] = Routing,
        ["PublicUrl"] = Settings,
        ["ClockTime"] = "hands on the clock",
        ["StaffSecondStep"] = Settings,
        ["MailSettings"] = Settings,
        ["MailFolder"] = Settings,
        ["SearchMemory"] = "forgotten below: the school apart from its lessons is known by its version alone, and a database made anew counts from the beginning",
        ["CoverLimits"] = Settings,
        ["EditionMemory"] = "forgotten below",
        ["RecurringJobName"] = Settings,
        ["MapTiles"] = Settings,
        ["Navigation"] = Settings,
    };

    public static bool IsOwn(ServiceDescriptor service) => new[]
    {
        service.ServiceType, service.IsKeyedService ? null : service.ImplementationType ?? service.ImplementationInstance?.GetType(),
    }.Any(type => type?.Assembly == typeof(ModuleList).Assembly);

    public static void Forget(IServiceProvider services)
    {
        services.GetRequiredService<EditionMemory>().Read.Clear();
        services.GetRequiredService<SearchMemory>().School = null;
    }
}
