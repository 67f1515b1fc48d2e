using System.Text;
using System.Text.Encodings.Web;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>A short letter: what it is about, the facts, what can be done. Plain text and HTML say the same.</summary>
internal sealed record Letter(string Subject, string Greeting, string Opening, IReadOnlyList<(string Name, string Value)> Facts, IReadOnlyList<string> Closing, string SignOff)
{
    public string ToText()
    {
        var text = new StringBuilder().Append(Greeting).Append("\n\n").Append(Opening).Append("\n\n");
        foreach (var (name, value) in Facts)
        {
            text.Append(name).Append(": ").Append(value).Append('\n');
        }

        foreach (var paragraph in Closing)
        {
            text.Append('\n').Append(paragraph).Append('\n');
        }

        return text.Append('\n').Append(SignOff).Append('\n').ToString();
    }

    public string ToHtml()
    {
        var html = new StringBuilder("<!doctype html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\"><title>")
            .Append(Encode(Subject)).Append("</title></head>\n<body>\n");
        Paragraph(Greeting);
        Paragraph(Opening);
        html.Append("<table>\n");
        foreach (var (name, value) in Facts)
        {
            html.Append("<tr><th scope=\"row\" align=\"left\" valign=\"top\">").Append(Encode(name)).Append("</th><td>").Append(Encode(value)).Append("</td></tr>\n");
        }

        html.Append("</table>\n");
        foreach (var paragraph in Closing)
        {
            Paragraph(paragraph);
        }

        Paragraph(SignOff);
        return html.Append("</body></html>\n").ToString();

        void Paragraph(string words) => html.Append("<p>").Append(Encode(words)).Append("</p>\n");
    }

    private static string Encode(string text) => HtmlEncoder.Default.Encode(text);
}
