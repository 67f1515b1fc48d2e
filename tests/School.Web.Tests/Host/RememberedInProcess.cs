using System.Reflection;
using Microsoft.Extensions.DependencyInjection;
using School.Web.Modules;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Events;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Syllabus;
using School.Web.Platform.Health;

namespace School.Web.Tests.Host;

/// <summary>
/// The singletons of the service, each with why it may live on from one test to the next. State that all nodes must agree on is in the
/// database, so there are few; a new one is put here after a thought about what it remembers (<see cref="SharedHostTests"/> tells).
/// </summary>
internal static class RememberedInProcess
{
    private const string Settings = "read from settings, never changed";
    private const string Told = "says something about the code, never changed";
    private const string Words = "makes words of what a letter keeps";
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
        ["MailWay"] = Settings,
        ["SearchMemory"] = "forgotten below",
        ["JudgedWeeks"] = "forgotten below",
        ["LiveDays"] = "forgotten below",
        ["LiveLimits"] = Settings,
        ["ListenToChanges"] = "holds a connection while somebody reads; its database is told by its number",
        ["CourseMemory"] = "forgotten below",
        ["CoverLimits"] = Settings,
        ["EditionMemory"] = "forgotten below",
        ["RecurringJobName"] = Settings,
        ["MapTiles"] = Settings,
        ["KnownSubjects"] = "known by all that they are made of; what a letter says stays as it was written",
        ["SlowStatements"] = Settings,
        ["Navigation"] = Settings,
        ["CookieRules"] = Settings,
        ["KnownDevices"] = "kept in cookies",
        ["RefusedPermissions"] = "writes to the database",
        ["LetterKind"] = Told,
        ["RetentionRule"] = Told,
        ["SqlInvariant"] = Told,
        ["EndedByRenewal"] = Told,
        ["SealedColumn"] = Told,
        ["AccountWording"] = Words,
        ["BesideWording"] = Words,
        ["BriefWording"] = Words,
        ["ContactWording"] = Words,
        ["HatsWording"] = Words,
        ["LessonWording"] = Words,
        ["ListWording"] = Words,
        ["SignInWording"] = Words,
        ["ReachedWording"] = Words,
        ["SwapWording"] = Words,
        ["HandOverWording"] = Words,
        ["TestDayWording"] = Words,
        ["WaitingWording"] = Words,
        ["WeeklyWording"] = Words,
        ["ProblemMember"] = Told,
        ["PlainAuditLabels"] = Told,
        ["KeysConnection"] = Settings,
        ["KeyFile"] = "reads its file each time",
        ["KeyRing"] = "the keys of the template, which every database begins with; a test that changes keys takes a host of its own",
        ["KeyUpkeep"] = "done once, at the start",
        ["KeyUpkeepAtStart"] = "done once, at the start",
        ["FullDisk"] = "forgotten below",
        ["SessionQuery"] = "a translated question, without values",
        ["SchoolQuery"] = "a translated question, without values",
        ["Readiness"] = "holds a question only while it is asked",
    };

    /// <summary>What stands behind a service, as far as it can be told before it is made.</summary>
    public static Type TypeOf(ServiceDescriptor service) =>
        service.IsKeyedService ? service.ServiceType : service.ImplementationType ?? service.ImplementationInstance?.GetType() ?? service.ServiceType;

    /// <summary>A class without any field has nowhere to remember; of what is only known by its interface nothing can be said.</summary>
    public static bool MayRemember(Type type)
    {
        for (var part = type; part is not null && part != typeof(object); part = part.BaseType)
        {
            if (part.IsInterface || part.GetFields(BindingFlags.Instance | BindingFlags.Public | BindingFlags.NonPublic | BindingFlags.DeclaredOnly).Length > 0)
            {
                return true;
            }
        }

        return false;
    }

    public static bool IsOwn(ServiceDescriptor service) => new[]
    {
        service.ServiceType, TypeOf(service),
    }.Any(type => type?.Assembly == typeof(ModuleList).Assembly);

    public static void Forget(IServiceProvider services)
    {
        services.GetRequiredService<EditionMemory>().Read.Clear();
        services.GetRequiredService<SearchMemory>().School = null;
        services.GetRequiredService<JudgedWeeks>().Forget();
        services.GetRequiredService<CourseMemory>().Forget();
        services.GetRequiredService<FullDisk>().Gone();
        services.GetRequiredService<LiveDays>().Forget();
    }
}
