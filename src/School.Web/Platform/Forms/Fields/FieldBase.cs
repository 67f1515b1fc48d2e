using System.Globalization;
using Microsoft.AspNetCore.Html;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Mvc.ViewFeatures;
using Microsoft.AspNetCore.Razor.TagHelpers;
using NodaTime;
using School.Web.Platform.Layout;

namespace School.Web.Platform.Forms.Fields;

/// <summary>What every field shares: its name and id, label, hint, error beside it, and what the person typed.</summary>
public abstract class FieldBase : TagHelper
{
    [ViewContext, HtmlAttributeNotBound]
    public ViewContext ViewContext { get; set; } = null!;

    public ModelExpression For { get; set; } = null!;

    /// <summary>The label; without it, the property's display name.</summary>
    public string? Label { get; set; }

    /// <summary>One sentence between the label and the field.</summary>
    public string? Hint { get; set; }

    /// <summary>Adds “(optional)” to the label.</summary>
    public bool Optional { get; set; }

    protected string Name => ViewContext.ViewData.TemplateInfo.GetFullHtmlFieldName(For.Name);

    protected string Id => TagBuilder.CreateSanitizedId(Name, "_");

    private string FieldWords => Label ?? For.Metadata.GetDisplayName();

    protected string LabelWords => FieldWords + (Optional ? " (optional)" : "");

    protected IReadOnlyList<string> Errors =>
        ViewContext.ViewData.ModelState.TryGetValue(Name, out var entry) ? [.. entry.Errors.Select(error => FormSetup.Sentence(error, FieldWords))] : [];

    /// <summary>What was typed, if the form came back; else the model's value.</summary>
    protected string? Typed(string? part = null)
    {
        var key = part is null ? Name : $"{Name}.{part}";
        return ViewContext.ViewData.ModelState.TryGetValue(key, out var entry) && entry.AttemptedValue is { } attempted
            ? attempted
            : part is null ? Text(For.Model) : null;
    }

    /// <summary>What somebody else made of this field meanwhile; null where the form has the same.</summary>
    private string? KeptNow
    {
        get
        {
            if (WhatStands.In(ViewContext)?.TryFind(Name, out var kept) is not true)
            {
                return null;
            }

            var (typed, stands) = (Typed() ?? "", Text(kept) ?? "");
            var same = kept is bool ? string.Equals(typed.Split(',')[0], stands, StringComparison.OrdinalIgnoreCase) : string.Equals(typed.Trim(), stands, StringComparison.Ordinal);
            return same ? null : $"Kept now: {(stands.Length == 0 ? "nothing" : kept switch
            {
                bool ticked => ticked ? "ticked" : "not ticked",
                LocalDate date => ScreenWords.DayAndYear(date),
                _ => InWords(stands),
            })}";
        }
    }

    /// <summary>A value as its field shows it.</summary>
    protected virtual string InWords(string value) => value;

    protected static string? Text(object? value) => value switch
    {
        null => null,
        LocalDate date => date.ToString("uuuu-MM-dd", CultureInfo.InvariantCulture),
        LocalTime time => time.ToString("HH:mm", CultureInfo.InvariantCulture),
        Enum member => member.ToString(),
        IEnumerable<int> numbers => string.Join(", ", numbers),
        IFormattable formattable => formattable.ToString(null, CultureInfo.InvariantCulture),
        _ => value.ToString(),
    };

    /// <summary>The outer element of a single control: label, hint and error, in the order they are read.</summary>
    protected void Frame(TagHelperOutput output, IHtmlContent control, string targetId)
    {
        Open(output, "div");
        var label = Element("label", null, LabelWords);
        label.Attributes["for"] = targetId;
        output.Content.AppendHtml(label);
        AppendNotes(output.Content);
        output.Content.AppendHtml(control);
        FormFields.Of(ViewContext).Drew(Name, targetId, FieldWords);
    }

    /// <summary>The outer element of a group of controls.</summary>
    protected void Group(TagHelperOutput output, IHtmlContent controls, string firstId)
    {
        Open(output, "fieldset");
        if (DescribedBy is { } notes)
        {
            output.Attributes.SetAttribute("aria-describedby", notes);
        }

        output.Content.AppendHtml(Element("legend", null, LabelWords));
        AppendNotes(output.Content);
        output.Content.AppendHtml(controls);
        FormFields.Of(ViewContext).Drew(Name, firstId, FieldWords);
    }

    /// <summary>The outer element of a control that carries its own label.</summary>
    protected void Alone(TagHelperOutput output, IHtmlContent control)
    {
        Open(output, "div");
        AppendNotes(output.Content);
        output.Content.AppendHtml(control);
        FormFields.Of(ViewContext).Drew(Name, Id, FieldWords);
    }

    /// <summary>Ties a control to its notes and says when it is wrong.</summary>
    protected void Tie(TagBuilder control, bool described = true)
    {
        ArgumentNullException.ThrowIfNull(control);
        if (described && DescribedBy is { } notes)
        {
            control.Attributes["aria-describedby"] = notes;
        }

        if (Errors.Count > 0)
        {
            control.Attributes["aria-invalid"] = "true";
        }
    }

    /// <summary>Moves what a page wrote on our element (autocomplete, min, rows, hx-get) to the control itself.</summary>
    protected static void PassOn(TagHelperOutput output, TagBuilder control)
    {
        ArgumentNullException.ThrowIfNull(output);
        ArgumentNullException.ThrowIfNull(control);
        foreach (var attribute in output.Attributes.Where(attribute => attribute.Name != "class").ToList())
        {
            control.Attributes[attribute.Name] = attribute.Value is HtmlString html ? System.Net.WebUtility.HtmlDecode(html.Value) : attribute.Value?.ToString() ?? attribute.Name;
            output.Attributes.Remove(attribute);
        }
    }

    protected static TagBuilder Element(string tag, string? css, string? words = null)
    {
        var element = new TagBuilder(tag);
        if (css is not null)
        {
            element.AddCssClass(css);
        }

        if (words is not null)
        {
            element.InnerHtml.Append(words);
        }

        return element;
    }

    private string? DescribedBy =>
        string.Join(' ', new[] { Hint is null ? null : $"{Id}-hint", KeptNow is null ? null : $"{Id}-kept", Errors.Count == 0 ? null : $"{Id}-error" }.OfType<string>())
            is { Length: > 0 } ids ? ids : null;

    private void Open(TagHelperOutput output, string tag)
    {
        output.TagName = tag;
        output.TagMode = TagMode.StartTagAndEndTag;
        var own = output.Attributes["class"]?.Value?.ToString();
        var css = Errors.Count > 0 ? "field wrong" : "field";
        output.Attributes.SetAttribute("class", own is null ? css : $"{css} {own}");
    }

    private void AppendNotes(TagHelperContent content)
    {
        if (Hint is not null)
        {
            var hint = Element("p", "hint", Hint);
            hint.Attributes["id"] = $"{Id}-hint";
            content.AppendHtml(hint);
        }

        if (KeptNow is { } kept)
        {
            var note = Element("p", "kept-now", kept);
            note.Attributes["id"] = $"{Id}-kept";
            content.AppendHtml(note);
        }

        if (Errors.Count > 0)
        {
            var error = Element("p", "error", string.Join(". ", Errors));
            error.Attributes["id"] = $"{Id}-error";
            content.AppendHtml(error);
        }
    }
}
