using System.Text.Encodings.Web;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.People;

internal sealed record Mail(string Subject, string Text, string Html);

/// <summary>The mails of the module: few words, one link.</summary>
internal static class SignInMails
{
    public static Mail Invitation(Person person, SchoolFacts school, string link) => Of(
        person,
        school,
        $"Your sign-in at {school.Name}",
        $"{school.Name} invites you to sign in. Follow this link and choose a password:",
        link,
        "The link works once, for seven days. After that, ask the school for a new one.");

    public static Mail NewPassword(Person person, SchoolFacts school, string link) => Of(
        person,
        school,
        $"A new password for {school.Name}",
        "Somebody, probably you, asked for a new password. Follow this link to choose it:",
        link,
        "The link works once, for an hour. If it was not you, do nothing: your password stays as it is.");

    private static Mail Of(Person person, SchoolFacts school, string subject, string before, string link, string after)
    {
        var text = $"Dear {person.Name},\n\n{before}\n\n{link}\n\n{after}\n\n{school.Name}\n{school.Phone}\n";
        var html = $"<p>Dear {Safe(person.Name)},</p><p>{Safe(before)}</p><p><a href=\"{Safe(link)}\">{Safe(subject)}</a></p>"
            + $"<p>{Safe(after)}</p><p>{Safe(school.Name)}<br>{Safe(school.Phone)}</p>";
        return new(subject, text, html);
    }

    private static string Safe(string text) => HtmlEncoder.Default.Encode(text);
}
