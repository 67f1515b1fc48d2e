using System.Diagnostics.CodeAnalysis;

namespace School.Web.Platform.Api.Document;

/// <summary>What a member or parameter must be beyond its type. Checked by the code that reads it; told here so that the document can tell it.</summary>
internal abstract class BoundAttribute : Attribute;

/// <summary>Must be sent, though its type allows null: its reader has a sentence of its own for whoever leaves it out.</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal sealed class NeededAttribute : BoundAttribute;

/// <summary>The least and the greatest number.</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal sealed class BetweenAttribute(double least, double most) : BoundAttribute
{
    public double Least { get; } = least;

    public double Most { get; } = most;
}

/// <summary>The most characters of a text.</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal sealed class AtMostAttribute(int characters) : BoundAttribute
{
    public int Characters { get; } = characters;
}

/// <summary>The fewest and the most items of a list.</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal sealed class ItemsAttribute(int fewest, int most) : BoundAttribute
{
    public int Fewest { get; } = fewest;

    public int Most { get; } = most;
}

/// <summary>The form of a text as a regular expression (ECMA-262).</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal sealed class FormAttribute([StringSyntax(StringSyntaxAttribute.Regex)] string pattern) : BoundAttribute
{
    /// <summary>A local time to the minute, such as 08:30.</summary>
    public const string HourMinute = "^([01][0-9]|2[0-3]):[0-5][0-9]$";

    public string Pattern { get; } = pattern;
}

/// <summary>A date that is usually sent as the moment.</summary>
[AttributeUsage(AttributeTargets.Parameter)]
internal sealed class MomentAttribute : BoundAttribute;

/// <summary>The texts that are taken.</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal sealed class OneOfAttribute(params string[] texts) : BoundAttribute
{
    public IReadOnlyList<string> Texts { get; } = texts;
}
