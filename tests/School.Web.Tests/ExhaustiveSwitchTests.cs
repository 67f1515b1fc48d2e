using NodaTime;
using School.Core.Diary;
using School.Web.Modules;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>
/// A switch over an enum names every member and has no default arm that throws: a member that is added later then stops the build
/// (CS8509 is an error) wherever it was forgotten.
/// </summary>
public sealed class ExhaustiveSwitchTests
{
    private static readonly HashSet<string> Enums =
    [
        .. new[] { typeof(DiaryRules).Assembly, typeof(ModuleList).Assembly, typeof(IsoDayOfWeek).Assembly }
            .SelectMany(assembly => assembly.GetTypes()).Where(type => type.IsEnum).Select(type => type.Name),
    ];

    [Fact]
    public void No_switch_over_an_enum_ends_in_a_default_that_throws()
    {
        var wrong =
            from source in Sources.Production()
            from line in ThrowingDefaults.In(source.Text, Enums)
            select $"{source.Path}:{line}";
        Assert.Equal([], wrong);
    }

    [Fact]
    public void A_forgotten_member_stops_the_build()
    {
        var settings = File.ReadAllText(Path.Combine(Sources.Root, "Directory.Build.props"));
        Assert.Matches("<WarningsAsErrors>[^<]*CS8509", settings);
        var editor = File.ReadAllText(Path.Combine(Sources.Root, ".editorconfig"));
        Assert.DoesNotContain("CS8509", editor, StringComparison.OrdinalIgnoreCase);
        Assert.Equal([], from source in Sources.Production() where source.Text.Contains("CS8509", StringComparison.OrdinalIgnoreCase) select source.Path);
    }

    [Theory]
    [InlineData("x switch { Gearbox.Manual => 1, _ => throw new E() }")]
    [InlineData("x switch { Gearbox.Manual or Gearbox.Automatic => 1, _ => throw new E($\"a {b} }\") }")]
    [InlineData("x switch { Gearbox.Manual when y => 1,\n Gearbox.Manual => z switch { 1 => 2, _ => 3 },\n var other => throw new E() }")]
    [InlineData("viewer switch { { Wears: Hat.Pupil } => '}', { } => throw new E() }")]
    [InlineData("(a, b) switch { (Gearbox.Manual, _) => 1, (_, _) => throw new E() }")]
    [InlineData("switch (x) { case Gearbox.Manual: return 1; default: throw new E(); }")]
    [InlineData("y switch { \"a\" => x switch { Gearbox.Manual => 1, _ => throw new E() }, _ => 2 }")]
    public void The_reading_sees_such_a_default(string code) => Assert.Single(ThrowingDefaults.In(code, Enums));

    [Theory]
    [InlineData("x switch { Gearbox.Manual => 1, Gearbox.Automatic => 2 }")]
    [InlineData("x switch { Gearbox.Manual => 1, _ => 2 }")]
    [InlineData("x switch { \"manual\" => Gearbox.Manual, _ => throw new E() }")]
    [InlineData("x switch { 1 => y switch { Gearbox.Manual => 2, _ => 3 }, _ => throw new E() }")]
    [InlineData("x switch { string s when y == Gearbox.Manual => 1, _ => throw new E() }")]
    [InlineData("// x switch { Gearbox.Manual => 1, _ => throw new E() }")]
    public void The_reading_lets_other_switches_be(string code) => Assert.Empty(ThrowingDefaults.In(code, Enums));
}
