using System.Reflection;
using Hangfire;
using Hangfire.Common;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Platform.Errors;
using School.Web.Platform.Jobs;
using School.Web.Tests.Clashes;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>
/// Every verb and every job, with the database failing once as it does on a deadlock and on a serialisation failure, in the first
/// statement that writes and at COMMIT: the answer and what is there afterwards are those of a run that nothing disturbed.
/// </summary>
public sealed class ClashTests(TestPostgres postgres)
{
    private static readonly Dictionary<string, IEnumerable<Recipe>> Groups = new(StringComparer.Ordinal)
    {
        ["people"] = [.. PeopleRecipes.All, .. PeopleRecipes.First],
        ["sign-in"] = SignInRecipes.All,
        ["pupils"] = PupilRecipes.All,
        ["cars"] = CarRecipes.All,
        ["places"] = PlaceRecipes.All,
        ["diary"] = DiaryRecipes.All,
        ["waiting"] = WaitingRecipes.All,
        ["syllabus"] = SyllabusRecipes.All,
        ["accounts"] = AccountRecipes.All,
        ["other"] = OtherRecipes.All,
    };

    /// <summary>What gives back an outcome and is no verb of its own, and why.</summary>
    internal static readonly Dictionary<string, string> NoVerbs = new(StringComparer.Ordinal)
    {
        ["AllocationRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["ApplyProposal.ApplyAsync"] = "the part that all ways to carry a proposal out share",
        ["AuditPages.ReadAsync"] = "reads",
        ["BookLesson.AddAsync"] = "a part of booking, of weekly lessons and of an accepted offer",
        ["BookLesson.ReadAsync"] = "reads",
        ["CancelFollowing.PreviewAsync"] = "reads",
        ["ChangeLessons.BecomeAsync"] = "a part of changing the kind of a lesson",
        ["ChangeLessons.CancelAsync"] = "the part that all ways to cancel share",
        ["ChangeLessons.MissAsync"] = "a part of noting a missed lesson",
        ["ChangeLessons.MoveAsync"] = "the part that all ways to move share",
        ["ContactBook.AddAsync"] = "calls AddContact",
        ["ContactBook.ChangeAsync"] = "calls ChangeContactDetails",
        ["ContactBook.ForgetAsync"] = "calls ForgetContact",
        ["CoursePapers.LookAsync"] = "reads",
        ["CourseRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["CoverRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["DriveTaps.TapAsync"] = "reads the day and calls BeginDrive or EndDrive",
        ["FindOrder"] = "reads",
        ["FollowingLessons.FindAsync"] = "reads",
        ["FreeTimes.WeekAsync"] = "reads",
        ["GiveOutCars.LookAsync"] = "reads",
        ["HoursEdit.InDiaryAsync"] = "the part that the verbs of working hours share",
        ["JoinWaitingList.ReadAsync"] = "reads",
        ["LessonList.PageAsync"] = "reads",
        ["LessonRecording.ApplyAsync"] = "a part of recording a lesson",
        ["MakeProposal.AddAsync"] = "the part that all ways to make a proposal share",
        ["MessageList.ReadAsync"] = "reads",
        ["MockTestEdit.ChangeAsync"] = "the part that the verbs of a mock test share",
        ["MoveFollowing.GoesAsync"] = "reads",
        ["MoveFollowing.PreviewAsync"] = "reads",
        ["MoneyGround.OpenAsync"] = "reads",
        ["MoveLesson.ApplyAsync"] = "a part of moving and of an accepted offer",
        ["HandOverRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["HaltRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["OrderRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["PracticeRules.ReadAsync"] = "reads",
        ["PreviewWeekly"] = "reads",
        ["ProposalRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["RecordRules.ReadAsync"] = "reads",
        ["SignIns.BePupilAsync"] = "calls ChangeHats",
        ["SignIns.CloseAsync"] = "calls CloseSignIn",
        ["SignIns.InviteContactAsync"] = "calls InvitePerson",
        ["SignIns.InviteInstructorAsync"] = "calls InvitePerson",
        ["SignIns.InvitePupilAsync"] = "calls InvitePerson",
        ["PupilsToBook.FindAsync"] = "reads",
        ["SlotFinder.CheckAsync"] = "reads",
        ["SlotFinder.CheckEachAsync"] = "reads",
        ["SlotFinder.FindAsync"] = "reads",
        ["SwapRules.WorkOutAsync"] = "works out what MakeProposal keeps",
        ["TellCharge"] = "reads",
        ["TellLate.PreviewAsync"] = "reads",
        ["TestDayRules.ReadAsync"] = "reads",
        ["TryRoutingAgain (job)"] = "asks the routing server, and keeps what it hears by single statements",
        ["WeeklyRules.WorkOutAsync"] = "works out what MakeProposal keeps",
    };

    public static TheoryData<string> GroupNames => [.. Groups.Keys];

    [Theory]
    [MemberData(nameof(GroupNames))]
    public async Task A_clash_anywhere_ends_in_the_true_answer_and_everything_is_there_once(string group)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var world = await World.OnAsync(host);
        await using var clashes = await ClashMaker.OnAsync(host);
        var wrong = new List<string>();
        foreach (var recipe in Groups[group])
        {
            try
            {
                wrong.AddRange((await ProblemsAsync(recipe, world, clashes)).Select(problem => $"{recipe.Verb}: {problem}"));
            }
            catch (Exception exception)
            {
                wrong.Add($"{recipe.Verb}: cannot be set up: {exception}");
            }
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact]
    public async Task Every_verb_and_every_job_has_a_recipe()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var known = Groups.Values.SelectMany(recipes => recipes).Select(recipe => recipe.Verb).Concat(NoVerbs.Keys).Distinct();
        Assert.Equal(known.Order(StringComparer.Ordinal), Verbs().Select(NameOf).Concat(Jobs(host)).Distinct().Order(StringComparer.Ordinal));
    }

    /// <summary>All of the modules that answers with an outcome.</summary>
    internal static IEnumerable<MethodInfo> Verbs() => typeof(Program).Assembly.GetTypes()
        .Where(type => type is { IsClass: true, IsNested: false, Namespace: not null } && type.Namespace.StartsWith("School.Web.Modules.", StringComparison.Ordinal))
        .SelectMany(type => type.GetMethods(BindingFlags.Public | BindingFlags.Instance | BindingFlags.Static | BindingFlags.DeclaredOnly))
        .Where(method => IsOutcome(method.ReturnType));

    internal static string NameOf(MethodInfo verb) => verb.Name == "RunAsync" ? verb.DeclaringType!.Name : $"{verb.DeclaringType!.Name}.{verb.Name}";

    private static bool IsOutcome(Type type) =>
        type.IsGenericType && type.GetGenericTypeDefinition() == typeof(Task<>)
        && type.GetGenericArguments()[0] is { IsGenericType: true } inner && inner.GetGenericTypeDefinition() == typeof(Outcome<>);

    private static IEnumerable<string> Jobs(SchoolHost host)
    {
        var named = new NamedJobs();
        foreach (var name in host.Services.GetServices<RecurringJobName>())
        {
            name.Add(named);
        }

        return named.Types.Select(type => $"{type.Name} (job)");
    }

    private sealed class NamedJobs : IRecurringJobManager
    {
        public List<Type> Types { get; } = [];

        public void AddOrUpdate(string recurringJobId, Job job, string cronExpression, RecurringJobOptions options) => Types.Add(job.Type);

        public void Trigger(string recurringJobId) => throw new NotSupportedException();

        public void RemoveIfExists(string recurringJobId) => throw new NotSupportedException();
    }

    private static async Task<List<string>> ProblemsAsync(Recipe recipe, World world, ClashMaker clashes)
    {
        var wrong = new List<string>();
        foreach (var withKey in new[] { false, true })
        {
            var first = await recipe.MakeAsync(world);
            if (withKey && !first.TakesKey)
            {
                break;
            }

            var undisturbed = await RunAsync(first, withKey, clashes, ClashAt.Nowhere, ClashMaker.Deadlock);
            if (!undisturbed.Answer.Done || undisturbed.Changes.Count == 0)
            {
                wrong.Add($"the recipe does nothing: {undisturbed.Answer.Words}");
                break;
            }

            foreach (var at in new[] { ClashAt.Statement, ClashAt.Commit })
            {
                foreach (var code in new[] { ClashMaker.Deadlock, ClashMaker.Serialisation })
                {
                    var disturbed = await RunAsync(await recipe.MakeAsync(world), withKey, clashes, at, code);
                    var what = $"{code} at {at}{(withKey ? " with a key" : "")}";
                    if (!disturbed.Failed)
                    {
                        wrong.Add($"{what}: nothing was made to fail");
                    }

                    if (disturbed.Answer != undisturbed.Answer)
                    {
                        wrong.Add($"{what}: {disturbed.Answer.Words} instead of {undisturbed.Answer.Words}");
                    }

                    if (!disturbed.Changes.SequenceEqual(undisturbed.Changes))
                    {
                        wrong.Add($"{what}: {Told(disturbed.Changes)} instead of {Told(undisturbed.Changes)}");
                    }
                }
            }
        }

        return wrong;
    }

    private static async Task<(Answer Answer, bool Failed, IReadOnlyList<string> Changes)> RunAsync(Act act, bool withKey, ClashMaker clashes, ClashAt at, string code)
    {
        await clashes.ArmAsync(at, code);
        Answer answer;
        try
        {
            answer = await act.RunAsync(withKey ? Guid.NewGuid().ToString() : null);
        }
        catch (Exception exception)
        {
            answer = new(false, $"{exception.GetType().Name} {exception.Message}");
        }

        var (failed, changes) = await clashes.DisarmAsync();
        return (answer, failed, changes);
    }

    private static string Told(IReadOnlyList<string> changes) => changes.Count == 0 ? "nothing" : $"({string.Join("; ", changes)})";
}
