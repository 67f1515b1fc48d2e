using System.Text;
using System.Text.Encodings.Web;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>A letter as HTML, plain enough for every mail program.</summary>
internal static class HtmlLetter
{
    public static string Of(LetterForm form)
    {
        var words = form.Words;
        var html = Begin(words.Subject);
        Paragraph(html, form.Greeting);
        if (words.Preface is { } preface)
        {
            Paragraph(html, preface);
        }

        Paragraph(html, words.Opening);
        if (words.Lines.Count > 0)
        {
            html.Append("<table>\n");
            foreach (var (name, value) in words.Lines)
            {
                html.Append("<tr><th scope=\"row\" align=\"left\" valign=\"top\">").Append(Encode(name)).Append("</th><td>").Append(Encode(value)).Append("</td></tr>\n");
            }

            html.Append("</table>\n");
        }

        foreach (var paragraph in words.Closing)
        {
            Paragraph(html, paragraph);
        }

        foreach (var (said, path) in words.Links)
        {
            html.Append("<p><a href=\"").Append(Encode(form.Link(path))).Append("\">").Append(Encode(said)).Append("</a></p>\n");
        }

        html.Append("<p>").AppendJoin("<br>", form.SignOff.Select(Encode)).Append("</p>\n");
        return End(html);
    }

    /// <summary>What a person typed, paragraph by paragraph, with nothing around it.</summary>
    public static string OfTyped(LetterWords words)
    {
        var html = Begin(words.Subject);
        foreach (var paragraph in words.Opening.ReplaceLineEndings("\n").Split("\n\n", StringSplitOptions.RemoveEmptyEntries))
        {
            html.Append("<p>").AppendJoin("<br>", paragraph.Trim('\n').Split('\n').Select(Encode)).Append("</p>\n");
        }

        return End(html);
    }

    private static StringBuilder Begin(string subject) => new StringBuilder("<!doctype html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\"><title>")
        .Append(Encode(subject)).Append("</title></head>\n<body>\n");

    private static void Paragraph(StringBuilder html, string words) => html.Append("<p>").Append(Encode(words)).Append("</p>\n");

    private static string End(StringBuilder html) => html.Append("</body></html>\n").ToString();

    private static string Encode(string text) => HtmlEncoder.Default.Encode(text);
}
