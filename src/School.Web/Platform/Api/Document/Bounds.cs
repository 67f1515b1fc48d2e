using System.Diagnostics.CodeAnalysis;
using System.Text.RegularExpressions;
using School.Core;

namespace School.Web.Platform.Api.Document;

/// <summary>Must be sent, though its type allows null: its reader has a sentence of its own for whoever leaves it out.</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal sealed class NeededAttribute : BoundAttribute;

/// <summary>The form of a text as a regular expression (ECMA-262).</summary>
[AttributeUsage(AttributeTargets.Property | AttributeTargets.Parameter)]
internal class FormAttribute([StringSyntax(StringSyntaxAttribute.Regex)] string pattern) : BoundAttribute
{
    /// <summary>A local time to the minute, such as 08:30.</summary>
    public const string HourMinute = "^([01][0-9]|2[0-3]):[0-5][0-9]$";

    public string Pattern { get; } = pattern;

    /// <summary>One of several texts. Generators make an enum of an <c>enum</c>, and not all can name its members as they stand here.</summary>
    public static string OneOf(IEnumerable<string> texts) => $"^({string.Join('|', texts.Select(Regex.Escape))})$";
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

/// <summary>Its members are bounded as those of the same name there, where they are checked.</summary>
[AttributeUsage(AttributeTargets.Class)]
internal sealed class BoundedLikeAttribute(Type type) : Attribute
{
    public Type Type { get; } = type;
}
