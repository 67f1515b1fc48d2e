using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Razor.TagHelpers;
using NodaTime;

namespace School.Web.Platform.Forms.Fields;

/// <summary><c>&lt;field for="Input.Email" type="email" /&gt;</c>: one labelled input or, with type="textarea", a text area.</summary>
[HtmlTargetElement("field", Attributes = "for")]
public class FieldTagHelper : FieldBase
{
    /// <summary>An input type; without it, what the property's type asks for.</summary>
    public string? Type { get; set; }

    /// <summary>Short words before the input, such as “£”.</summary>
    public string? Before { get; set; }

    /// <summary>Short words after the input, such as “minutes”.</summary>
    public string? After { get; set; }

    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        ArgumentNullException.ThrowIfNull(output);
        var kind = Type ?? Default(For.Metadata.UnderlyingOrModelType);
        var control = new TagBuilder(kind == "textarea" ? "textarea" : "input");
        control.Attributes["id"] = Id;
        control.Attributes["name"] = Name;
        switch (kind)
        {
            case "textarea":
                control.Attributes["rows"] = "4";
                // The line break that HTML drops at the start of a text area.
                control.InnerHtml.AppendHtml("\n").Append(Typed() ?? "");
                break;
            case "whole" or "decimal":
                control.Attributes["type"] = "text";
                control.Attributes["inputmode"] = kind == "whole" ? "numeric" : "decimal";
                control.AddCssClass("short");
                break;
            default:
                control.Attributes["type"] = kind;
                break;
        }

        if (kind is not ("textarea" or "password" or "file") && Typed() is { } value)
        {
            control.Attributes["value"] = value;
        }

        control.TagRenderMode = kind == "textarea" ? TagRenderMode.Normal : TagRenderMode.SelfClosing;
        PassOn(output, control);
        Tie(control);
        Frame(output, Before is null && After is null ? control : WithUnits(control), Id);
    }

    private TagBuilder WithUnits(TagBuilder control)
    {
        var row = Element("div", "units");
        if (Before is not null)
        {
            row.InnerHtml.AppendHtml(Element("span", null, Before));
        }

        row.InnerHtml.AppendHtml(control);
        if (After is not null)
        {
            row.InnerHtml.AppendHtml(Element("span", null, After));
        }

        return row;
    }

    private static string Default(Type type) =>
        type == typeof(LocalDate) ? "date"
        : type == typeof(LocalTime) ? "time"
        : type == typeof(int) || type == typeof(long) ? "whole"
        : type == typeof(decimal) || type == typeof(double) || type == typeof(Pounds) ? "decimal"
        : "text";
}
