using System.Text;

namespace School.Web.Modules.Messages.Writing;

/// <summary>A letter as plain text.</summary>
internal static class PlainLetter
{
    public static string Of(LetterForm form)
    {
        var words = form.Words;
        var text = new StringBuilder().Append(form.Greeting).Append("\n\n");
        if (words.Preface is { } preface)
        {
            text.Append(preface).Append("\n\n");
        }

        text.Append(words.Opening).Append('\n');
        if (words.Lines.Count > 0)
        {
            text.Append('\n');
        }

        foreach (var (name, value) in words.Lines)
        {
            text.Append(name).Append(": ").Append(value).Append('\n');
        }

        foreach (var paragraph in words.Closing)
        {
            text.Append('\n').Append(paragraph).Append('\n');
        }

        foreach (var (said, path) in words.Links)
        {
            text.Append('\n').Append(said).Append(":\n").Append(form.Link(path)).Append('\n');
        }

        return text.Append('\n').AppendJoin('\n', form.SignOff).Append('\n').ToString();
    }
}
