using System.Text.RegularExpressions;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>
/// The order of imports, which no analyser of the build looks at: System first, then by name; then static ones, then aliases. The order
/// that <c>dotnet format</c> makes; asking that to look takes minutes of a processor.
/// </summary>
public sealed partial class ImportsTests
{
    [Fact]
    public void Imports_stand_in_the_order_that_dotnet_format_makes()
    {
        var sources = Sources.All().Where(source => source.Path.EndsWith(".cs", StringComparison.Ordinal) && !source.Path.Contains("/Migrations/", StringComparison.Ordinal)).ToList();
        Assert.True(sources.Count > 500, $"Only {sources.Count} files.");
        Assert.Equal([], sources.Where(source => !InOrder(source.Text)).Select(source => source.Path));
    }

    [Theory]
    [InlineData("using System;\nusing System.Text;\nusing NodaTime;\nusing School.Core;\nusing School.Core.Diary;\nusing static School.Core.Words;\nusing Day = School.Core.Day;", true)]
    [InlineData("using NodaTime;\nusing System;", false)]
    [InlineData("using School.Web.Modules.People;\nusing School.Web.Modules.Messages;", false)]
    [InlineData("using static School.Core.Words;\nusing School.Core;", false)]
    [InlineData("using Day = School.Core.Day;\nusing School.Core;", false)]
    public void The_reading_tells_order_from_disorder(string text, bool inOrder) => Assert.Equal(inOrder, InOrder(text));

    private static bool InOrder(string text)
    {
        var imports = Import().Matches(text).ToList();
        return imports.SequenceEqual(imports.OrderBy(Kind).ThenBy(IsNotSystem).ThenBy(Name, StringComparer.OrdinalIgnoreCase));
    }

    private static int Kind(Match import) => import.Groups["alias"].Success ? 2 : import.Groups["static"].Success ? 1 : 0;

    private static bool IsNotSystem(Match import) => import.Groups["alias"].Success || import.Groups["name"].Value.Split('.')[0] != "System";

    /// <summary>With a separator that sorts before every letter, so that a name comes before what it begins.</summary>
    private static string Name(Match import) => (import.Groups["alias"].Success ? import.Groups["alias"] : import.Groups["name"]).Value.Replace('.', '\u0001');

    [GeneratedRegex(@"^(global )?using ((?<static>static) )?((?<alias>\w+) = )?(?<name>[^(;\s]+);", RegexOptions.Multiline | RegexOptions.ExplicitCapture)]
    private static partial Regex Import();
}
