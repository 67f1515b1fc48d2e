using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>The copy of a pupil's letter that goes to somebody beside the pupil: the same facts, nothing to press, and why it came.</summary>
internal static class LetterCopy
{
    private const string PupilName = "copy_of";
    private const string PupilId = "copy_of_id";

    /// <param name="letter">What the pupil gets.</param>
    /// <param name="pupil">Their name.</param>
    /// <param name="contactId">Who gets the copy.</param>
    /// <param name="money">Names of the facts that tell what is charged.</param>
    public static Letter Of(Letter letter, string pupil, Guid contactId, IReadOnlyCollection<string> money) => letter with
    {
        // The pupil's letter is told from its copies by its key (LetterCauses).
        Key = $"{letter.Key.Replace(":pupil", ":beside", StringComparison.Ordinal)}:{contactId}",
        To = Receiver.Contact(contactId),
        Facts = [.. Without(letter.Facts, money), Fact.Of(PupilName, pupil), Fact.Of(PupilId, $"{letter.To.Id}")],
        Acts = [],
    };

    // Money is let be seen on its own, so no copy has it, nor any of its lines; a lesson's number is whether it is charged.
    private static IEnumerable<Fact> Without(IEnumerable<Fact> facts, IReadOnlyCollection<string> money) =>
        from fact in facts
        where !money.Contains(fact.Name)
        select fact with { Number = fact.From is null ? fact.Number : null, Parts = fact.Parts is null ? null : [.. Without(fact.Parts, money)] };

    public static bool IsOf(Message message, Guid pupilId) => PupilOf(message) == pupilId;

    /// <summary>Whose letter it is a copy of; null where that is kept no longer.</summary>
    public static Guid? PupilOf(Message message) =>
        message.Content is not null && Guid.TryParse(LetterContent.Read(message).Facts.FirstOrDefault(fact => fact.Name == PupilId)?.Text, out var pupil) ? pupil : null;

    /// <summary>The words of a letter, with why they came where it is a copy.</summary>
    public static LetterWords Of(LetterReading letter, LetterWords words) => !letter.Has(PupilName) ? words : words with
    {
        Subject = $"{letter.Text(PupilName)}: {words.Subject}",
        Preface = $"This is a copy of what we wrote to {letter.Text(PupilName)}, who lets you have it. “You” below is {letter.Text(PupilName)}.",
        Closing = [.. words.Closing, $"To get no more of these copies, answer this letter{letter.OrCall}."],
        Links = [],
    };
}
