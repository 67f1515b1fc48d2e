using Microsoft.AspNetCore.Razor.TagHelpers;
using School.Core.Diary;
using School.Web.Modules;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>Reads the compiled code and says where it departs from the shape of a module (docs/module-shape.md).</summary>
public sealed class ArchitectureTests
{
    private const string Modules = "School.Web.Modules.";

    /// <summary>Uses of another module beyond its contracts that are meant, each with its reason.</summary>
    private static readonly HashSet<(string User, string Used)> Meant = [];

    /// <summary>Types that must be public although nothing outside uses them.</summary>
    private static bool MayBePublic(Type type) =>
        // The framework finds tag helpers only among public types.
        typeof(TagHelper).IsAssignableFrom(type)
        // What top-level statements compile to; test hosts start from it.
        || type.FullName == "Program";

    [Fact]
    public void Modules_use_each_other_only_through_contracts()
    {
        var wrong =
            from type in typeof(ModuleList).Assembly.GetTypes()
            let own = ModuleOf(type)
            where own is not null
            from used in TypeUse.Of(type)
            let other = ModuleOf(used)
            where other is not null && other != own && !IsContract(used, other)
            let pair = (User: Outermost(type).FullName!, Used: Outermost(used).FullName!)
            where !Meant.Contains(pair)
            orderby pair
            select $"{pair.User} uses {pair.Used}";
        Assert.Equal([], wrong.Distinct());
    }

    [Fact]
    public void Modules_form_no_circle()
    {
        var uses =
            from type in typeof(ModuleList).Assembly.GetTypes()
            let own = ModuleOf(type)
            where own is not null
            from used in TypeUse.Of(type)
            let other = ModuleOf(used)
            where other is not null && other != own
            select new Use(own, other, $"{Outermost(type).FullName} uses {Outermost(used).FullName}");
        Assert.Equal("", Circle(uses));
    }

    [Fact]
    public void Folders_of_the_rules_form_no_circle()
    {
        var rules = typeof(DiaryRules).Assembly;
        var uses =
            from type in rules.GetTypes()
            let own = Outermost(type).Namespace
            where own is not null
            from used in TypeUse.Of(type)
            let other = Outermost(used).Namespace
            where used.Assembly == rules && other is not null && other != own
            select new Use(own, other, $"{Outermost(type).FullName} uses {Outermost(used).FullName}");
        Assert.Equal("", Circle(uses));
    }

    [Fact]
    public void The_platform_knows_no_module()
    {
        var wrong =
            from type in typeof(ModuleList).Assembly.GetTypes()
            where IsPlatform(type)
            from used in TypeUse.Of(type)
            where ModuleOf(used) is not null
            let line = $"{Outermost(type).FullName} uses {Outermost(used).FullName}"
            orderby line
            select line;
        Assert.Equal("", string.Join('\n', wrong.Distinct()));
    }

    [Fact]
    public void A_circle_is_found_and_told_whole()
    {
        Use[] uses = [new("A", "B", "a uses b"), new("B", "C", "b uses c"), new("C", "A", "c uses a"), new("D", "A", "d uses a")];
        Assert.Equal("a uses b\nb uses c\nc uses a", Circle(uses));
        Assert.Equal("", Circle(uses.Where(use => use.From != "C")));
    }

    [Fact]
    public void The_reading_of_compiled_code_sees_every_way_of_using_a_type()
    {
        var seen = TypeUse.Of(typeof(Example)).Select(type => type.Name).ToHashSet();
        Assert.Superset(
            new HashSet<string> { nameof(InField), nameof(InSignature), nameof(InLocal), nameof(InCall), nameof(InGeneric), nameof(InTypeOf), nameof(InAttributeAttribute), nameof(InBase) },
            seen);
    }

    [Fact]
    public void Exceptions_that_are_no_longer_needed_are_gone()
    {
        var used = (from type in typeof(ModuleList).Assembly.GetTypes() from other in TypeUse.Of(type) select (Outermost(type).FullName!, Outermost(other).FullName!)).ToHashSet();
        Assert.Equal([], Meant.Where(pair => !used.Contains(pair)));
    }

    [Fact]
    public void Types_of_the_service_are_internal()
    {
        var visible = typeof(ModuleList).Assembly.GetTypes().Where(type => type.IsVisible && !MayBePublic(type)).Select(type => type.FullName);
        Assert.Equal([], visible);
    }

    [Fact]
    public void The_rules_know_nothing_but_time()
    {
        var references = typeof(DiaryRules).Assembly.GetReferencedAssemblies().Select(name => name.Name!);
        Assert.Equal(["NodaTime"], references.Where(name => !name.StartsWith("System.", StringComparison.Ordinal)));
    }

    /// <summary>Diary for anything under Modules/Diary, its compiled pages included; null outside the modules.</summary>
    private static string? ModuleOf(Type type)
    {
        var outermost = Outermost(type);
        if (outermost.Namespace == "AspNetCoreGeneratedDocument")
        {
            return outermost.Name.Split('_') is ["Modules", var folder, _, ..] ? folder : null;
        }

        return outermost.Namespace?.StartsWith(Modules, StringComparison.Ordinal) == true ? outermost.Namespace[Modules.Length..].Split('.')[0] : null;
    }

    /// <summary>Anything under Platform, its compiled pages included; migrations are written by a tool from the whole model.</summary>
    private static bool IsPlatform(Type type)
    {
        var outermost = Outermost(type);
        return outermost.Namespace == "AspNetCoreGeneratedDocument"
            ? outermost.Name.StartsWith("Platform_", StringComparison.Ordinal)
            : $"{outermost.Namespace}.".StartsWith("School.Web.Platform.", StringComparison.Ordinal)
                && !$"{outermost.Namespace}.".Contains(".Migrations.", StringComparison.Ordinal);
    }

    /// <summary>All uses between those that reach themselves, one line each; empty when there is no circle.</summary>
    private static string Circle(IEnumerable<Use> uses)
    {
        var all = uses.Distinct().ToList();
        var next = all.ToLookup(use => use.From, use => use.To);
        HashSet<string> Reached(string from)
        {
            var seen = new HashSet<string>();
            var open = new Stack<string>(next[from]);
            while (open.TryPop(out var one))
            {
                if (seen.Add(one))
                {
                    foreach (var to in next[one])
                    {
                        open.Push(to);
                    }
                }
            }

            return seen;
        }

        var reached = next.ToDictionary(group => group.Key, group => Reached(group.Key));
        bool Together(string one, string other) => reached[one].Contains(other) && reached.TryGetValue(other, out var back) && back.Contains(one);
        return string.Join('\n', all.Where(use => Together(use.From, use.To)).Select(use => use.Line).Order(StringComparer.Ordinal));
    }

    private sealed record Use(string From, string To, string Line);

    private static bool IsContract(Type type, string module) =>
        $"{Outermost(type).Namespace}.".StartsWith($"{Modules}{module}.Contracts.", StringComparison.Ordinal);

    private static Type Outermost(Type type)
    {
        while (type.DeclaringType is { } around)
        {
            type = around;
        }

        return type;
    }

    private sealed class InField;

    private sealed class InSignature;

    private sealed class InLocal
    {
        public int Number { get; set; }
    }

    private static class InCall
    {
        public static int Number() => 1;
    }

    private sealed class InGeneric;

    private sealed class InTypeOf;

    private class InBase;

    [AttributeUsage(AttributeTargets.Method)]
    private sealed class InAttributeAttribute : Attribute;

    private sealed class Example : InBase
    {
        private readonly InField? _field = Math.Max(0, 1) > 1 ? new() : null;

        [InAttribute]
        public string? Use(InSignature? signature)
        {
            var local = new InLocal { Number = InCall.Number() };
            return signature is null && _field is null ? $"{local.Number}{new List<InGeneric>().Count}" : typeof(InTypeOf).Name;
        }
    }
}
