using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Platform.Find;

/// <summary>Asks every module for what fits, and puts the kinds with the best first.</summary>
internal sealed class Finder(SchoolDb db, IEnumerable<IFind> modules)
{
    /// <summary>Of each kind, where all are asked.</summary>
    public const int OfEach = 8;

    /// <summary>Of the kind that is asked for alone.</summary>
    public const int OfOne = 50;

    public async Task<Outcome<IReadOnlyList<Found>>> FindAsync(Viewer viewer, string? typed, FoundKind? kind, CancellationToken cancel)
    {
        var question = await Question.ReadAsync(db, typed, cancel);
        if (!question.Ok)
        {
            return question.Refusal;
        }

        var found = new List<Found>();
        foreach (var module in modules.Where(module => kind is null || module.Kind == kind))
        {
            var most = kind is null ? OfEach : OfOne;
            found.AddRange((await module.FindAsync(viewer, question.Value, most, cancel)).Take(most));
        }

        return found.GroupBy(one => one.Kind).OrderBy(kinds => kinds.Min(one => one.Fit)).ThenBy(kinds => kinds.Key).SelectMany(kinds => kinds.OrderBy(one => one.Fit)).ToList();
    }
}

/// <summary>The pages to which the navigation and the settings lead.</summary>
internal sealed class PagesFound(Navigation navigation) : IFind
{
    public FoundKind Kind => FoundKind.Page;

    public Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        var pages = navigation.For(viewer).Select(item => (item.Href, item.Words, Where: ""))
            .Concat(SettingsPages.For(viewer).Select(item => (item.Href, item.Words, Where: "Settings")))
            .DistinctBy(page => page.Href).Select(page => (page, Plain: $" {page.Words.ToLowerInvariant().Replace('-', ' ')} "));
        return Task.FromResult<IReadOnlyList<Found>>([.. pages.Where(one => question.Begins(one.Plain))
            .Select(one => new Found(FoundKind.Page, null, one.page.Words, one.page.Where, one.page.Href, question.FitOf(one.Plain))).OrderBy(one => one.Fit).Take(most)]);
    }
}
