using System.Reflection;
using School.Tests;
using School.Web.Tests.Clashes;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>
/// Every verb and every job, with the database failing once as it does on a deadlock and on a serialisation failure, in the first
/// statement that writes and at COMMIT: the answer and what is there afterwards are those of a run that nothing disturbed.
/// </summary>
public sealed class ClashTests(TestPostgres postgres)
{
    private static readonly Recipe[] Recipes = [.. PeopleRecipes.All, .. SignInRecipes.All, .. PupilRecipes.All];

    [Fact]
    public async Task A_clash_anywhere_ends_in_the_true_answer_and_everything_is_there_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var world = await World.OnAsync(host);
        await using var clashes = await ClashMaker.OnAsync(host);
        var wrong = new List<string>();
        foreach (var recipe in Recipes)
        {
            wrong.AddRange((await ProblemsAsync(recipe, world, clashes)).Select(problem => $"{recipe.Verb}: {problem}"));
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
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
