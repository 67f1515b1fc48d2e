using Microsoft.AspNetCore.Html;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Razor.TagHelpers;

namespace School.Web.Platform.Forms.Fields;

/// <summary><c>&lt;field-select for="Input.CarId" items="Model.Cars" empty="Choose a car" /&gt;</c></summary>
[HtmlTargetElement("field-select", Attributes = "for")]
public sealed class FieldSelectTagHelper : FieldBase
{
    public IEnumerable<SelectListItem> Items { get; set; } = [];

    /// <summary>Words of a first choice with no value.</summary>
    public string? Empty { get; set; }

    protected override string InWords(string value) => Items.FirstOrDefault(item => (item.Value ?? item.Text) == value)?.Text ?? value;

    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        ArgumentNullException.ThrowIfNull(output);
        var select = new TagBuilder("select") { Attributes = { ["id"] = Id, ["name"] = Name } };
        var items = Empty is null ? Items : Items.Prepend(new SelectListItem(Empty, ""));
        // An address names a choice in whatever case it was typed.
        var typed = Typed() ?? "";
        var cases = items.Any(item => (item.Value ?? item.Text) == typed) ? StringComparison.Ordinal : StringComparison.OrdinalIgnoreCase;
        foreach (var item in items)
        {
            var value = item.Value ?? item.Text;
            var option = Element("option", null, item.Text);
            option.Attributes["value"] = value;
            if (value.Equals(typed, cases))
            {
                option.Attributes["selected"] = "selected";
            }

            if (item.Disabled)
            {
                option.Attributes["disabled"] = "disabled";
            }

            select.InnerHtml.AppendHtml(option);
        }

        PassOn(output, select);
        Tie(select);
        Frame(output, select, Id);
    }
}

/// <summary><c>&lt;field-radios for="Input.Gearbox" label="Gearbox" items="Model.Gearboxes" /&gt;</c></summary>
[HtmlTargetElement("field-radios", Attributes = "for")]
public sealed class FieldRadiosTagHelper : FieldBase
{
    public IEnumerable<SelectListItem> Items { get; set; } = [];

    protected override string InWords(string value) => Items.FirstOrDefault(item => (item.Value ?? item.Text) == value)?.Text ?? value;

    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        var choices = new HtmlContentBuilder();
        foreach (var (item, index) in Items.Select((item, index) => (item, index)))
        {
            var id = index == 0 ? Id : $"{Id}-{index + 1}";
            var value = item.Value ?? item.Text;
            choices.AppendHtml(Choice.Of("radio", id, Name, value, value == Typed(), item.Text, item.Disabled));
        }

        Group(output, choices, Id);
    }
}

/// <summary><c>&lt;field-check for="Input.Agreed" label="The pupil has shown the licence" /&gt;</c></summary>
[HtmlTargetElement("field-check", Attributes = "for")]
public sealed class FieldCheckTagHelper : FieldBase
{
    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        ArgumentNullException.ThrowIfNull(output);
        var ticked = string.Equals(Typed()?.Split(',')[0], "true", StringComparison.OrdinalIgnoreCase);
        var choice = Choice.Of("checkbox", Id, Name, "true", ticked, LabelWords, disabled: false, Tie);
        // A browser sends nothing for an empty box, which would read as “not asked”.
        var unticked = new TagBuilder("input")
        {
            Attributes = { ["type"] = "hidden", ["name"] = Name, ["value"] = "false" },
            TagRenderMode = TagRenderMode.SelfClosing,
        };
        Alone(output, new HtmlContentBuilder().AppendHtml(choice).AppendHtml(unticked));
    }

    private void Tie(TagBuilder control) => Tie(control, described: true);
}

internal static class Choice
{
    public static TagBuilder Of(
        string type, string id, string name, string value, bool chosen, string words, bool disabled, Action<TagBuilder>? tie = null)
    {
        var row = new TagBuilder("div");
        row.AddCssClass("choice");
        var input = new TagBuilder("input")
        {
            Attributes = { ["type"] = type, ["id"] = id, ["name"] = name, ["value"] = value },
            TagRenderMode = TagRenderMode.SelfClosing,
        };
        if (chosen)
        {
            input.Attributes["checked"] = "checked";
        }

        if (disabled)
        {
            input.Attributes["disabled"] = "disabled";
        }

        tie?.Invoke(input);
        var label = new TagBuilder("label") { Attributes = { ["for"] = id } };
        label.InnerHtml.Append(words);
        row.InnerHtml.AppendHtml(input).AppendHtml(label);
        return row;
    }
}
