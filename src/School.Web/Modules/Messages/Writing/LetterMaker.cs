using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform;

namespace School.Web.Modules.Messages.Writing;

/// <summary>A letter in the form of a mail: the same in plain text and in HTML.</summary>
internal sealed record MadeLetter(string Subject, string Text, string Html);

/// <summary>Makes the words of a kept letter, again each time it is shown or sent.</summary>
internal sealed partial class LetterMaker(IEnumerable<ILetterWording> wordings, PublicUrl url, ILogger<LetterMaker> logger)
{
    private readonly Dictionary<string, ILetterWording> _byKind =
        (from wording in wordings from kind in wording.Kinds select (kind, wording)).ToDictionary(pair => pair.kind, pair => pair.wording, StringComparer.Ordinal);

    public string SubjectOf(Message message, SchoolFacts school) => message.Subject ?? Worded(message, school).Words.Subject;

    public MadeLetter Of(Message message, SchoolFacts school)
    {
        var (words, typed) = Worded(message, school);
        if (typed)
        {
            return new(words.Subject, words.Opening, HtmlLetter.OfTyped(words));
        }

        var form = new LetterForm($"Hello {message.ToName},", words, school, url.Of);
        return new(words.Subject, PlainLetter.Of(form), HtmlLetter.Of(form));
    }

    private (LetterWords Words, bool Typed) Worded(Message message, SchoolFacts school)
    {
        var letter = LetterContent.Read(message);
        var reading = new LetterReading(letter, message.ToName, school, message.DueAt);
        if (reading.Has(TypedWording.Text))
        {
            return (TypedWording.Instance.Of(reading), true);
        }

        try
        {
            return (_byKind.GetValueOrDefault(message.Kind, BareWording.Instance).Of(reading), false);
        }
        catch (Exception missing) when (missing is InvalidOperationException or ArgumentException)
        {
            // One letter that an older or a newer release wrote otherwise must not keep the others from being listed and sent.
            NotWorded(logger, message.Id, message.Kind);
            return (BareWording.Instance.Of(reading), false);
        }
    }

    [LoggerMessage(LogLevel.Warning, "Message {Id} of kind {Kind} lacks a fact that its words need; its facts are told bare")]
    private static partial void NotWorded(ILogger logger, Guid id, string kind);
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
