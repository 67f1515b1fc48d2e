using System.Reflection;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>Holds what writes to one shape (docs/module-shape.md), read from the compiled code.</summary>
public sealed class VerbShapeTests(TestPostgres postgres)
{
    private const string Spine = "School.Web.Platform.Database.Transactions";

    /// <summary>Who saves, or opens a transaction, besides the one way to write, and why.</summary>
    private static readonly Dictionary<string, string> Savers = new(StringComparer.Ordinal)
    {
        ["School.Web.Platform.Database.SchoolDb"] = "raises the versions on the way",
        ["School.Web.Platform.Database.DatabaseSetup"] = "fills in the defaults before anything is served",
        ["School.Web.Platform.Health.RoomToWrite"] = "tries whether there is room, and undoes it",
        ["School.Web.Platform.Operations.CheckCommand"] = "looks at one moment of the whole, and writes nothing",
        ["School.Web.Platform.Api.Idempotency"] = "is the outermost transaction of a request with a key, with the kept answer in it",
    };

    /// <summary>Those that save a first part inside the transaction of a verb, because the database must see it before the second.</summary>
    private static readonly Dictionary<string, string> InParts = new(StringComparer.Ordinal)
    {
        ["School.Web.Modules.Cars.EndHolding"] = "room first, or the longer piece would meet what it replaces",
        ["School.Web.Modules.Cars.HoldCar"] = "the cut comes first, or the pieces would meet what they replace",
        ["School.Web.Modules.Diary.Contracts.LessonRecording"] = "whoever comes second must find the version risen",
        ["School.Web.Modules.Diary.Courses.CourseRules"] = "the next day is judged by what the one before left",
        ["School.Web.Modules.Diary.Halts.HaltRules"] = "the next lesson is judged by what the one before left",
        ["School.Web.Modules.Diary.HandOvers.HandOverRules"] = "the next lesson is judged by what the one before left",
        ["School.Web.Modules.Diary.Hours.HoursEdit"] = "which lessons are outside now is asked of the database",
        ["School.Web.Modules.Diary.Lessons.LessonSwaps"] = "constraints are deferred for this one save",
        ["School.Web.Modules.Diary.Proposals.MakeProposal"] = "what is carried out in the same transaction is read from its table",
        ["School.Web.Modules.Diary.Weekly.BookWeekly"] = "the next date is judged by what the one before left",
        ["School.Web.Modules.Diary.Weekly.MoveFollowing"] = "the next lesson is judged by what the one before left",
    };

    /// <summary>Who says stale, and why.</summary>
    private static readonly Dictionary<string, string> Stale = new(StringComparer.Ordinal)
    {
        ["School.Web.Platform.Database.VersionedRows"] = "is the one check of a row",
        ["School.Web.Platform.Database.Transactions"] = "somebody changed the row between the check and the saving",
        ["School.Web.Modules.Diary.Day.OrderDay"] = "the version is that of an answer, which has no row",
        ["School.Web.Modules.Syllabus.Lessons.ReflectOnLesson"] = "the lesson is the diary's, which tells its version",
    };

    /// <summary>Verbs beside the one of their class, and why.</summary>
    private static readonly Dictionary<string, string> Seconds = new(StringComparer.Ordinal)
    {
        ["ChangeWeekly.ProposeAsync"] = "the part of RunAsync that asks for a look first",
        ["GiveOutCars.ProposeAsync"] = "the part of RunAsync that asks for a look first",
    };

    /// <summary>Those that are asked in an order of their own, and why.</summary>
    private static readonly Dictionary<string, string> OwnOrder = new(StringComparer.Ordinal)
    {
        ["CheckPassword"] = "nobody is known yet, so a name and a password stand first",
        ["CheckSecondStep"] = "somebody is known by half, so that stands first",
    };

    [Fact]
    public void Nothing_saves_or_opens_a_transaction_but_the_one_way_to_write()
    {
        var found = Own().Where(type => TypeUse.Calls(type).Any(Writes)).Select(Outermost).Distinct().Where(name => name != Spine);
        Assert.Equal(Savers.Keys.Concat(InParts.Keys).Order(StringComparer.Ordinal), found.Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Pages_and_endpoints_open_no_transaction() => Assert.Equal(
        [],
        Own().Where(type => IsPageOrEndpoint(OutermostType(type))).Where(type => TypeUse.Calls(type).Any(call => Writes(call) || call.Name == nameof(Transactions.InTransactionAsync)))
            .Select(type => type.FullName));

    /// <summary>A kind of proposal is handed the one that is being made, in the same transaction.</summary>
    private static bool TakesWhatIsMade(MethodInfo verb) => verb.Name == "WorkOutAsync" && typeof(Modules.Diary.Proposals.ProposalRules).IsAssignableFrom(verb.DeclaringType);

    [Fact]
    public async Task No_verb_takes_an_entity()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var entities = await host.WithDbAsync(db => Task.FromResult(db.Model.GetEntityTypes().Select(entity => entity.ClrType).ToHashSet()));
        Assert.Equal([], Verbs().SelectMany(verb => verb.GetParameters().Where(p => entities.Contains(p.ParameterType) && !TakesWhatIsMade(verb)).Select(p => $"{Name(verb)}: {p.Name}")));
    }

    [Fact]
    public void Every_verb_is_asked_in_the_same_order() =>
        Assert.Equal(
            [],
            Verbs().Where(verb => !InOrder([.. verb.GetParameters()]) && !OwnOrder.ContainsKey(Name(verb)))
                .Select(verb => $"{Name(verb)}({string.Join(", ", verb.GetParameters().Select(p => p.ParameterType.Name))})"));

    [Fact]
    public void A_class_holds_one_verb_and_calls_it_RunAsync() =>
        Assert.Equal(Seconds.Keys.Order(StringComparer.Ordinal), Verbs().Where(verb => verb.Name != "RunAsync").Select(Name).Distinct().Order(StringComparer.Ordinal));

    [Fact]
    public void Only_the_one_check_says_that_what_was_looked_at_is_stale() =>
        Assert.Equal(
            Stale.Keys.Order(StringComparer.Ordinal),
            Own().Where(type => TypeUse.Calls(type).Any(call => call.DeclaringType == typeof(Refusal) && call.Name == $"get_{nameof(Refusal.Stale)}"))
                .Select(Outermost).Distinct().Order(StringComparer.Ordinal));

    [Fact]
    public void No_verb_is_given_the_viewer_when_it_is_made() =>
        Assert.Equal([], Verbs().Where(verb => verb.DeclaringType!.GetConstructors().Any(c => c.GetParameters().Any(p => p.ParameterType == typeof(Viewer)))).Select(Name));

    /// <summary>Who asks, which, what, the version that was looked at, and the way to stop.</summary>
    private static bool InOrder(ParameterInfo[] parameters)
    {
        var at = 0;
        Take(p => p.ParameterType == typeof(Viewer) || p.ParameterType == typeof(SignInCaller), 1);
        Take(p => p.ParameterType == typeof(Guid) || p.ParameterType == typeof(Guid?), 2);
        Take(p => p.ParameterType != typeof(int?) && p.ParameterType != typeof(CancellationToken) && p.ParameterType != typeof(Viewer), 1);
        Take(p => p.ParameterType == typeof(int?) && p.Name == "expected", 1);
        Take(p => p.ParameterType == typeof(CancellationToken), 1);
        return at == parameters.Length && parameters.Length > 0 && parameters[^1].ParameterType == typeof(CancellationToken);

        void Take(Func<ParameterInfo, bool> fits, int most)
        {
            for (var taken = 0; taken < most && at < parameters.Length && fits(parameters[at]); taken++)
            {
                at++;
            }
        }
    }

    /// <summary>What writes and answers with an outcome.</summary>
    private static IEnumerable<MethodInfo> Verbs() => ClashTests.Verbs().Where(verb => !ClashTests.NoVerbs.ContainsKey(ClashTests.NameOf(verb)));

    private static string Name(MethodInfo verb) => ClashTests.NameOf(verb);

    private static bool Writes(MethodBase call) =>
        (call.Name is nameof(DbContext.SaveChangesAsync) or nameof(DbContext.SaveChanges) && typeof(DbContext).IsAssignableFrom(call.DeclaringType))
        || (call.Name.StartsWith("BeginTransaction", StringComparison.Ordinal) && (call.DeclaringType == typeof(DatabaseFacade) || call.DeclaringType == typeof(RelationalDatabaseFacadeExtensions)));

    private static IEnumerable<Type> Own() => typeof(Program).Assembly.GetTypes().Where(type => type.Namespace?.StartsWith("School.Web.", StringComparison.Ordinal) == true);

    private static bool IsPageOrEndpoint(Type type) =>
        typeof(PageModel).IsAssignableFrom(type) || type.Name.EndsWith("Endpoints", StringComparison.Ordinal) || type.Name.EndsWith("Endpoint", StringComparison.Ordinal);

    private static string Outermost(Type type) => OutermostType(type).FullName!;

    private static Type OutermostType(Type type) => type.DeclaringType is { } outer ? OutermostType(outer) : type;
}
