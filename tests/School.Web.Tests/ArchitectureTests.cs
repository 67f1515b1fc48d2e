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
