using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform;

namespace School.Web.Modules.Messages.Writing;

/// <summary>A letter in the form of a mail: the same in plain text and in HTML.</summary>
internal sealed record MadeLetter(string Subject, string Text, string Html);

/// <summary>Makes the words of a kept letter, again each time it is shown or sent.</summary>
internal sealed class LetterMaker(IEnumerable<ILetterWording> wordings, PublicUrl url)
{
    private readonly Dictionary<string, ILetterWording> _byKind =
        (from wording in wordings from kind in wording.Kinds select (kind, wording)).ToDictionary(pair => pair.kind, pair => pair.wording, StringComparer.Ordinal);

    public string SubjectOf(Message message, SchoolFacts school) => WordsOf(message, school).Subject;

    public MadeLetter Of(Message message, SchoolFacts school)
    {
        var words = WordsOf(message, school);
        if (LetterContent.Read(message).Facts is [{ Name: TypedWording.Text }, ..] or [_, { Name: TypedWording.Text }, ..])
        {
            return new(words.Subject, words.Opening, HtmlLetter.OfTyped(words));
        }

        var form = new LetterForm($"Hello {message.ToName},", words, school, url.Of);
        return new(words.Subject, PlainLetter.Of(form), HtmlLetter.Of(form));
    }

    private LetterWords WordsOf(Message message, SchoolFacts school)
    {
        var letter = LetterContent.Read(message);
        // A letter whose wording is gone tells its facts bare rather than nothing.
        var wording = letter.Facts.Any(fact => fact.Name == TypedWording.Text) ? TypedWording.Instance : _byKind.GetValueOrDefault(message.Kind, BareWording.Instance);
        return wording.Of(new(letter, message.ToName, school, message.DueAt));
    }
}

/// <summary>What every form of a letter is made of.</summary>
/// <param name="Greeting">The first line.</param>
/// <param name="Words">What it says.</param>
/// <param name="School">Who signs.</param>
/// <param name="Link">A path as an address that can be opened.</param>
internal sealed record LetterForm(string Greeting, LetterWords Words, SchoolFacts School, Func<string, string> Link)
{
    public IEnumerable<string> SignOff => School.Phone.Length == 0 ? [School.Name] : [School.Name, School.Phone];
}
