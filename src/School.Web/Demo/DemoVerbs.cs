using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Demo;

internal static class DemoVerbs
{
    /// <summary>Runs a verb as somebody, in a scope of its own; a refusal is a defect of the generator.</summary>
    public static async Task<T> DoAsync<TVerb, T>(IServiceProvider services, Viewer viewer, Func<TVerb, CancellationToken, Task<Outcome<T>>> run)
        where TVerb : notnull
        where T : notnull
    {
        var outcome = await TryAsync(services, viewer, run);
        return outcome.Ok ? outcome.Value : throw new InvalidOperationException($"{typeof(TVerb).Name} refused: {outcome.Refusal.For(Viewer.Service)}");
    }

    /// <summary>The same where a refusal is an ordinary answer.</summary>
    public static async Task<Outcome<T>> TryAsync<TVerb, T>(IServiceProvider services, Viewer viewer, Func<TVerb, CancellationToken, Task<Outcome<T>>> run)
        where TVerb : notnull
        where T : notnull
    {
        await using var scope = services.CreateAsyncScope();
        scope.ServiceProvider.GetRequiredService<ViewerOverride>().Viewer = viewer;
        return await run(scope.ServiceProvider.GetRequiredService<TVerb>(), CancellationToken.None);
    }
}
