using System.Collections.Concurrent;
using System.Reflection;

namespace School.Core;

/// <summary>What a member must be beyond its type. The check and whatever tells of it both read it, so that they cannot differ.</summary>
public abstract class BoundAttribute : Attribute;

/// <summary>The least and the greatest number; of a list, of each of its numbers.</summary>
/// <param name="least">Taken.</param>
/// <param name="most">Taken.</param>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
public sealed class BetweenAttribute(double least, double most) : BoundAttribute
{
    /// <summary>The least that is taken.</summary>
    public double Least { get; } = least;

    /// <summary>The greatest that is taken.</summary>
    public double Most { get; } = most;

    /// <summary>The bounds of a property; it must have some.</summary>
    public static BetweenAttribute Of(Type type, string property) => Bounds.Of<BetweenAttribute>(type, property);

    /// <summary>Whether a number lies within; NaN never does.</summary>
    public bool Holds(double value) => value >= Least && value <= Most;
}

/// <summary>The most characters of a text; of a list, of each of its texts.</summary>
/// <param name="characters">Taken.</param>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
public sealed class AtMostAttribute(int characters) : BoundAttribute
{
    /// <summary>The most that are taken.</summary>
    public int Characters { get; } = characters;
}

/// <summary>The fewest and the most items of a list.</summary>
/// <param name="fewest">Taken.</param>
/// <param name="most">Taken.</param>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
public sealed class ItemsAttribute(int fewest, int most) : BoundAttribute
{
    /// <summary>The fewest that are taken.</summary>
    public int Fewest { get; } = fewest;

    /// <summary>The most that are taken.</summary>
    public int Most { get; } = most;

    /// <summary>The bounds of a list; it must have some.</summary>
    public static ItemsAttribute Of(Type type, string property) => Bounds.Of<ItemsAttribute>(type, property);
}

internal static class Bounds
{
    private static readonly ConcurrentDictionary<(Type, string, Type), BoundAttribute> Known = [];

    public static T Of<T>(Type type, string property)
        where T : BoundAttribute =>
        (T)Known.GetOrAdd((type, property, typeof(T)), _ =>
            type.GetProperty(property)?.GetCustomAttribute<T>() ?? throw new InvalidOperationException($"{type.Name}.{property} has no bounds."));
}
