using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>The copy of a pupil's letter that goes to somebody beside the pupil: the same facts, nothing to press, and why it came.</summary>
internal static class LetterCopy
{
    private const string PupilName = "copy_of";
    private const string PupilId = "copy_of_id";

    public static Letter Of(Letter letter, string pupil, Guid contactId) => letter with
    {
        // The pupil's letter is told from its copies by its key (LetterCauses).
        Key = $"{letter.Key.Replace(":pupil", ":beside", StringComparison.Ordinal)}:{contactId}",
        To = Receiver.Contact(contactId),
        Facts = [.. letter.Facts, Fact.Of(PupilName, pupil), Fact.Of(PupilId, $"{letter.To.Id}")],
        Acts = [],
    };

    public static bool IsOf(Message message, Guid pupilId) =>
        message.Content is not null && LetterContent.Read(message).Facts.Any(fact => fact.Name == PupilId && fact.Text == $"{pupilId}");

    /// <summary>The words of a letter, with why they came where it is a copy.</summary>
    public static LetterWords Of(LetterReading letter, LetterWords words) => !letter.Has(PupilName) ? words : words with
    {
        Subject = $"{letter.Text(PupilName)}: {words.Subject}",
        Preface = $"This is a copy of what we wrote to {letter.Text(PupilName)}, who lets you have it. “You” below is {letter.Text(PupilName)}.",
        Closing = [.. words.Closing, $"To get no more of these copies, answer this letter{letter.OrCall}."],
        Links = [],
    };
}
