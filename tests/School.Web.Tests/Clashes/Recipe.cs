namespace School.Web.Tests.Clashes;

/// <summary>How a verb is set up and asked for once. Made anew for each run, with rows of its own.</summary>
/// <param name="Verb">The verb by its class, and its method where that is not <c>RunAsync</c>.</param>
/// <param name="MakeAsync">Prepares it; what it gives back does it.</param>
internal sealed record Recipe(string Verb, Func<World, Task<Act>> MakeAsync)
{
    public override string ToString() => Verb;
}
