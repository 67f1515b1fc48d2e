using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>A letter in the form of a mail: the same in plain text and in HTML.</summary>
internal sealed record MadeLetter(string Subject, string Text, string Html)
{
    /// <summary>What stands here in the place of a letter that another release wrote in a form of its own: to be shown, never sent.</summary>
    public bool Unread { get; init; }

    private const int DigestOctets = 16;

    /// <summary>The first 16 octets of the SHA-256 of all that it says: to find other words for it takes 2^128 tries (NIST SP 800-107 on shortened digests; from memory).</summary>
    public byte[] Digest() => SHA256.HashData(Encoding.UTF8.GetBytes($"{Subject}\0{Text}\0{Html}"))[..DigestOctets];
}

/// <summary>Makes the words of a kept letter, again each time it is shown or sent.</summary>
internal sealed partial class LetterMaker(IEnumerable<ILetterWording> wordings, ILogger<LetterMaker> logger)
{
    private readonly Dictionary<string, ILetterWording> _byKind =
        (from wording in wordings from kind in wording.Kinds select (kind, wording)).ToDictionary(pair => pair.kind, pair => pair.wording, StringComparer.Ordinal);

    public string SubjectOf(Message message, Letterhead head) => Worded(message, head).Words.Subject;

    public MadeLetter Of(Message message, Letterhead head)
    {
        var (words, typed, unread) = Worded(message, head);
        if (typed)
        {
            return new(words.Subject, words.Opening, HtmlLetter.OfTyped(words)) { Unread = unread };
        }

        var form = new LetterForm($"Hello {message.ToName},", words, head.School, path => head.Address + path);
        return new(words.Subject, PlainLetter.Of(form), HtmlLetter.Of(form));
    }

    private (LetterWords Words, bool Typed, bool Unread) Worded(Message message, Letterhead head)
    {
        if (message.Content is null)
        {
            return (ClearedWording.Of(message.Kind), true, false);
        }

        Letter letter;
        try
        {
            letter = LetterContent.Read(message);
        }
        catch (Exception strange) when (strange is JsonException or InvalidOperationException or FormatException)
        {
            NotRead(logger, message.Id, message.Kind);
            return (UnreadWording.Words, true, true);
        }

        var reading = new LetterReading(letter, message.ToName, head.School, message.DueAt) { Edition = head.Edition };
        if (reading.Has(TypedWording.Text))
        {
            return (TypedWording.Instance.Of(reading), true, false);
        }

        try
        {
            return (LetterCopy.Of(reading, _byKind.GetValueOrDefault(message.Kind, BareWording.Instance).Of(reading)), false, false);
        }
        catch (Exception missing) when (missing is InvalidOperationException or ArgumentException)
        {
            // One letter that an older or a newer release wrote otherwise must not keep the others from being listed and sent.
            NotWorded(logger, message.Id, message.Kind);
            return (BareWording.Instance.Of(reading), false, false);
        }
    }

    [LoggerMessage(LogLevel.Warning, "Message {Id} of kind {Kind} is kept in a form that this release does not know")]
    private static partial void NotRead(ILogger logger, Guid id, string kind);

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
