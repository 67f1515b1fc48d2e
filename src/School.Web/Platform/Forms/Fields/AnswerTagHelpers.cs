using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Razor.TagHelpers;

namespace School.Web.Platform.Forms.Fields;

/// <summary>The list to check before something happens: <c>&lt;check-answers&gt;&lt;answer label="When" change="/…"&gt;…&lt;/answer&gt;&lt;/check-answers&gt;</c></summary>
[HtmlTargetElement("check-answers")]
public sealed class CheckAnswersTagHelper : TagHelper
{
    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        ArgumentNullException.ThrowIfNull(output);
        output.TagName = "dl";
        output.Attributes.SetAttribute("class", "answers");
    }
}

/// <summary>One answer, and where to change it.</summary>
[HtmlTargetElement("answer", Attributes = "label")]
public sealed class AnswerTagHelper : TagHelper
{
    public string Label { get; set; } = "";

    /// <summary>The page that changes this answer.</summary>
    public string? Change { get; set; }

    public override async Task ProcessAsync(TagHelperContext context, TagHelperOutput output)
    {
        ArgumentNullException.ThrowIfNull(output);
        var words = await output.GetChildContentAsync();
        output.TagName = "div";
        output.Content.AppendHtml(Cell("dt")).AppendHtml(new TagBuilder("dd") { TagRenderMode = TagRenderMode.StartTag })
            .AppendHtml(words).AppendHtml("</dd>");
        if (Change is not null)
        {
            var link = new TagBuilder("a") { Attributes = { ["href"] = Change } };
            var about = new TagBuilder("span");
            about.AddCssClass("unseen");
            about.InnerHtml.Append($" {Label}");
            link.InnerHtml.Append("Change").AppendHtml(about);
            var cell = new TagBuilder("dd");
            cell.AddCssClass("change");
            cell.InnerHtml.AppendHtml(link);
            output.Content.AppendHtml(cell);
        }
    }

    private TagBuilder Cell(string tag)
    {
        var cell = new TagBuilder(tag);
        cell.InnerHtml.Append(Label);
        return cell;
    }
}
