using System.Globalization;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Razor.TagHelpers;
using NodaTime;

namespace School.Web.Platform.Forms.Fields;

/// <summary>A date that a person knows by heart, as three fields: <c>&lt;field-known-date for="Input.Born" birthday="true" /&gt;</c></summary>
[HtmlTargetElement("field-known-date", Attributes = "for")]
public sealed class KnownDateTagHelper : FieldBase
{
    /// <summary>True when it is the person's own birthday, which a browser may fill in.</summary>
    public bool Birthday { get; set; }

    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        Hint ??= "For example, 27 3 2008";
        var date = For.Model as LocalDate?;
        var row = Element("div", "date-parts");
        (string Part, int? Value)[] parts = [("Day", date?.Day), ("Month", date?.Month), ("Year", date?.Year)];
        foreach (var (part, value) in parts)
        {
            var id = $"{Id}_{part}";
            var input = new TagBuilder("input")
            {
                Attributes =
                {
                    ["type"] = "text",
                    ["inputmode"] = "numeric",
                    ["id"] = id,
                    ["name"] = $"{Name}.{part}",
                    ["value"] = Typed(part) ?? value?.ToString(CultureInfo.InvariantCulture) ?? "",
                },
                TagRenderMode = TagRenderMode.SelfClosing,
            };
            input.AddCssClass(part == "Year" ? "digits-4" : "digits-2");
            if (Birthday)
            {
                input.Attributes["autocomplete"] = $"bday-{part.ToLowerInvariant()}";
            }

            Tie(input, described: false);
            var label = Element("label", null, part);
            label.Attributes["for"] = id;
            var cell = new TagBuilder("div");
            cell.InnerHtml.AppendHtml(label).AppendHtml(input);
            row.InnerHtml.AppendHtml(cell);
        }

        Group(output, row, $"{Id}_Day");
    }
}
