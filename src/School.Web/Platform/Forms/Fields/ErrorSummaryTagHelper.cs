using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Mvc.ViewFeatures;
using Microsoft.AspNetCore.Razor.TagHelpers;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Forms.Fields;

/// <summary>The list of everything to put right, focused, each line a link to its field. The layout draws it on every page.</summary>
[HtmlTargetElement("error-summary", TagStructure = TagStructure.WithoutEndTag)]
public sealed class ErrorSummaryTagHelper : TagHelper
{
    [ViewContext, HtmlAttributeNotBound]
    public ViewContext ViewContext { get; set; } = null!;

    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        var problems = FormFields.Of(ViewContext).Problems(ViewContext.ViewData.ModelState).ToList();
        if (problems.Count == 0)
        {
            output.SuppressOutput();
            return;
        }

        output.TagName = "section";
        output.TagMode = TagMode.StartTagAndEndTag;
        output.Attributes.SetAttribute("class", "problems");
        output.Attributes.SetAttribute("tabindex", "-1");
        output.Attributes.SetAttribute("autofocus", "autofocus");
        output.Attributes.SetAttribute("aria-labelledby", "problems-heading");

        var heading = new TagBuilder("h2") { Attributes = { ["id"] = "problems-heading" } };
        heading.InnerHtml.Append(problems.Count == 1 ? "Please look at this again" : "Please look at these again");
        var list = new TagBuilder("ul");
        foreach (var (id, sentence) in problems)
        {
            var item = new TagBuilder("li");
            if (id is null)
            {
                item.InnerHtml.Append(sentence);
            }
            else
            {
                var link = new TagBuilder("a") { Attributes = { ["href"] = $"#{id}" } };
                link.InnerHtml.Append(sentence);
                item.InnerHtml.AppendHtml(link);
            }

            list.InnerHtml.AppendHtml(item);
        }

        output.Content.AppendHtml(heading).AppendHtml(list);
        if (ViewContext.HttpContext.Items[typeof(Refusal)] is string anew)
        {
            var words = new TagBuilder("p");
            words.InnerHtml.Append(WhatStands.In(ViewContext) is null ? "What you typed stands below, and is not kept. " : "What is kept now stands beside what you typed, where it differs. Press again to keep yours, or ");
            var link = new TagBuilder("a") { Attributes = { ["href"] = anew } };
            link.InnerHtml.Append(WhatStands.In(ViewContext) is null ? "Open the page as it is now" : "open the page as it is now");
            words.InnerHtml.AppendHtml(link).Append(".");
            output.Content.AppendHtml(words);
        }
    }
}
