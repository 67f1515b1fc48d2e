using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Layout;

/// <summary>Words that readers stumbled over were replaced; those that stand for them are listed in docs/pages.md, and said.</summary>
public sealed class WordsOfOurOwnTests
{
    /// <summary>What nobody is to read any more, wherever it stands in code, page or script.</summary>
    public static TheoryData<string> Replaced =>
    [
        "you cannot come", "School is open here", "or not settled yet", "Give out the cars", "How forecasts came true", "Fit to recorded drives",
    ];

    /// <summary>What is said instead, as docs/pages.md lists it.</summary>
    public static TheoryData<string> Said =>
    [
        "place to be found", "Who drives which car", "Speeds from recorded drives", "Past forecasts", "nobody yet", "no car yet", "you cancelled", "first steps", "first sign-in",
        "belong to their instructor",
    ];

    [Theory]
    [MemberData(nameof(Replaced))]
    public void A_word_that_was_replaced_stands_nowhere(string words) =>
        Assert.Equal([], Texts().Where(text => text.Words.Contains(words, StringComparison.OrdinalIgnoreCase)).Select(text => text.Path));

    [Theory]
    [MemberData(nameof(Said))]
    public void A_word_of_our_own_is_listed_and_said(string words)
    {
        Assert.Contains(words, List(), StringComparison.Ordinal);
        Assert.Contains(Texts(), text => text.Words.Contains(words, StringComparison.OrdinalIgnoreCase));
    }

    private static string List() => File.ReadAllText(Path.Combine(Sources.Root, "docs", "pages.md")).ReplaceLineEndings(" ").Split("## Words of our own")[1];

    private static IEnumerable<(string Path, string Words)> Texts() => Sources.Production().Concat(
        Directory.EnumerateFiles(Path.Combine(Sources.Root, "src", "School.Web", "wwwroot", "js"), "*.js").Select(file => (file, File.ReadAllText(file))));
}
