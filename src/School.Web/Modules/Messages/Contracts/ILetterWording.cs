using NodaTime;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>Puts letters of some kinds into words, in the module whose matter they are. One file for one family of letters.</summary>
internal interface ILetterWording
{
    IReadOnlyCollection<string> Kinds { get; }

    LetterWords Of(LetterReading letter);
}

/// <summary>What a letter says, before it takes the form of a mail or another.</summary>
/// <param name="Subject">One line.</param>
/// <param name="Opening">The first sentence, after the greeting.</param>
/// <param name="Lines">The facts by name, as they are listed.</param>
/// <param name="Closing">Sentences after the facts.</param>
/// <param name="Links">What can be done: words and path.</param>
internal sealed record LetterWords(
    string Subject, string Opening, IReadOnlyList<(string Name, string Value)> Lines, IReadOnlyList<string> Closing, IReadOnlyList<(string Words, string Path)> Links)
{
    /// <summary>Why somebody gets it to whom it was not written; stands before the opening. Mostly null.</summary>
    public string? Preface { get; init; }
}

/// <summary>A letter with what its words need besides: the school, and the moment from which it speaks.</summary>
/// <param name="Letter">The letter.</param>
/// <param name="ToName">Name of who gets it.</param>
/// <param name="School">The school.</param>
/// <param name="AsOf">When it goes.</param>
internal sealed record LetterReading(Letter Letter, string ToName, SchoolFacts School, Instant AsOf)
{
    /// <summary>In which edition of the wordings it went; that of now where it did not go yet.</summary>
    public int Edition { get; init; } = Writing.Letterhead.Now;

    /// <summary>Worded for the pupil, as a copy of such a letter is too.</summary>
    public bool ToPupil => Letter.To.Kind is ReceiverKind.Pupil or ReceiverKind.Contact;

    /// <summary>It goes to somebody beside the pupil: nothing of money, nothing to open.</summary>
    public bool IsCopy => Letter.To.Kind is ReceiverKind.Contact;

    public bool Has(string name) => Letter.Facts.Any(fact => fact.Name == name);

    public string Text(string name) => Letter.Facts.FirstOrDefault(fact => fact.Name == name)?.Text ?? "";

    public int Number(string name) => Letter.Facts.First(fact => fact.Name == name).Number!.Value;

    public LocalDate Day(string name) => Letter.Facts.First(fact => fact.Name == name).Day!.Value;

    public Instant Moment(string name) => Letter.Facts.First(fact => fact.Name == name).From!.Value;

    public Interval Time(string name) => Times(name)[0];

    public IReadOnlyList<Interval> Times(string name) =>
        [.. Letter.Facts.Where(fact => fact.Name == name).Select(fact => new Interval(fact.From, fact.Until))];

    public IReadOnlyList<Fact> All(string name) => [.. Letter.Facts.Where(fact => fact.Name == name)];

    /// <summary>A line of a list, read like a letter of its own.</summary>
    public LetterReading Part(Fact line) => this with { Letter = Letter with { Facts = line.Parts ?? [] } };

    /// <summary>The acts with the words for each; an act without words is left out.</summary>
    public IReadOnlyList<(string Words, string Path)> Links(Func<string, string?> words) =>
        [.. from act in Letter.Acts let said = words(act.Code) where said is not null select (said, act.Path)];

    /// <summary>“, or call 01632 960100”; nothing where the school has no number.</summary>
    public string OrCall => School.Phone.Length == 0 ? "" : $", or call {School.Phone}";
}
