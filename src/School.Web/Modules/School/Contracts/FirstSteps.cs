namespace School.Web.Modules.School.Contracts;

/// <summary>One of the steps from an empty service to the first booked lesson. Whether it is done follows from what is there, and is kept nowhere.</summary>
/// <param name="Code">A stable word.</param>
/// <param name="Rank">Its place among the steps.</param>
/// <param name="Done">Whether what it asks for is there.</param>
/// <param name="Title">What is to be done.</param>
/// <param name="Sentence">How it stands.</param>
/// <param name="Act">What its link or button says.</param>
/// <param name="Page">The page that does it.</param>
internal sealed record FirstStep(string Code, int Rank, bool Done, string Title, string Sentence, string Act, string Page)
{
    /// <summary>Lessons can be booked without it.</summary>
    public bool CanWait { get; init; }

    /// <summary>One press does it: a form without fields is sent to the page.</summary>
    public bool Posts { get; init; }
}

/// <summary>Filled by each module whose matter a step is.</summary>
internal interface IFirstSteps
{
    /// <param name="address">Scheme and host by which the reader came here.</param>
    /// <param name="cancel">Stops it.</param>
    Task<IReadOnlyList<FirstStep>> ListAsync(string address, CancellationToken cancel);
}

/// <summary>All steps in their order.</summary>
internal sealed class FirstSteps(IEnumerable<IFirstSteps> modules)
{
    public async Task<IReadOnlyList<FirstStep>> ListAsync(HttpRequest request, CancellationToken cancel)
    {
        var (address, steps) = ($"{request.Scheme}://{request.Host}{request.PathBase}", new List<FirstStep>());
        foreach (var module in modules)
        {
            steps.AddRange(await module.ListAsync(address, cancel));
        }

        return [.. steps.OrderBy(step => step.Rank)];
    }

    /// <summary>Every cause at once why nobody can book, with where each is cured.</summary>
    public async Task<IReadOnlyList<FirstStep>> InTheWayAsync(HttpRequest request, CancellationToken cancel) =>
        [.. (await ListAsync(request, cancel)).Where(step => step is { Done: false, CanWait: false, Code: not LessonBooked })];

    /// <summary>Code of the last step.</summary>
    public const string LessonBooked = "lesson";
}
