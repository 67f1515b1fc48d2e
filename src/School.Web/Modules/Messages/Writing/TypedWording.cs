using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>A letter that a person typed, or that was kept as finished words: it says just that.</summary>
internal sealed class TypedWording : ILetterWording
{
    public const string Subject = "typed_subject";
    public const string Text = "typed_text";

    public static TypedWording Instance { get; } = new();

    public IReadOnlyCollection<string> Kinds => [];

    public LetterWords Of(LetterReading letter) => new(letter.Text(Subject), letter.Text(Text), [], [], []);
}

/// <summary>What stands where the facts of a letter were kept as long as they are kept: that it was written, to whom and when stays.</summary>
internal static class ClearedWording
{
    public static LetterWords Of(string kind)
    {
        var words = kind.Replace('_', ' ').Replace('-', ' ');
        return new($"{char.ToUpperInvariant(words[0])}{words[1..]}", "What this letter said is no longer kept.", [], [], []);
    }
}

/// <summary>In the place of a letter of another release's form. One such is shown so, and never sent.</summary>
internal static class UnreadWording
{
    public static LetterWords Words { get; } = new("A letter of another release", "What this letter says cannot be read here: another release of the service wrote it.", [], [], []);
}

/// <summary>The facts by their names, where nobody words them any more: rather than nothing.</summary>
internal sealed class BareWording : ILetterWording
{
    public static BareWording Instance { get; } = new();

    public IReadOnlyCollection<string> Kinds => [];

    public LetterWords Of(LetterReading letter) => new(
        $"News from {letter.School.Name}", "This is what the letter told.",
        letter.IsCopy ? [] : [.. letter.Letter.Facts.Select(fact => (fact.Name.Replace('_', ' '), Value(fact, letter)))], [], [.. letter.Letter.Acts.Select(act => ("Open", act.Path))]);

    private static string Value(Fact fact, LetterReading letter) =>
        fact.Text ?? fact.Number?.ToString(null, System.Globalization.CultureInfo.InvariantCulture)
        ?? fact.Day?.ToString("d MMMM uuuu", System.Globalization.CultureInfo.InvariantCulture)
        ?? (fact.From is { } from ? MessageWords.Moment(letter.School, from) : "");
}
