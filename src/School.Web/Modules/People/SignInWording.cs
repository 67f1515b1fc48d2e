using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.People;

/// <summary>The words of the letters with which somebody signs in: few, one link.</summary>
internal sealed class SignInWording : ILetterWording
{
    /// <summary>Code of the act that opens the link.</summary>
    public const string Open = "choose_password";

    /// <summary>Fact: of several people of one address, each with the name that they sign in with.</summary>
    public const string Somebody = "somebody";

    public IReadOnlyCollection<string> Kinds { get; } = [SignInMessages.Invitation, SignInMessages.NewPassword];

    public LetterWords Of(LetterReading letter)
    {
        var (subject, opening, closing) = letter.Letter.Kind == SignInMessages.Invitation
            ? ($"Your sign-in at {letter.School.Name}", $"{letter.School.Name} invites you to sign in. Follow the link and choose a password.",
                "The link works once, for seven days. After that, ask the school for a new one.")
            : ($"A new password for {letter.School.Name}", "Somebody, probably you, asked for a new password. Follow the link to choose it.",
                "The link works once, for an hour. If it was not you, do nothing: your password stays as it is.");
        var people = letter.All(Somebody);
        return people.Count == 0
            ? new(subject, opening, [], [closing], letter.Links(act => act == Open ? subject : null))
            : new(
                subject, "Somebody, probably you, asked for a new password. Several people have this e-mail address: follow the link of whose password it is.", [],
                ["Each link works once, for an hour. If it was none of you, do nothing: the passwords stay as they are."],
                letter.Links(act => people.Where((_, n) => act == $"{Open}/{n}").Select(person => $"A new password for {person.Text}").SingleOrDefault()));
    }
}
