using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.People;

/// <summary>The words of the letter to somebody whose hats were changed.</summary>
internal sealed class HatsWording : ILetterWording
{
    /// <summary>Facts: the parts of the office as a number, and one where they teach, learn or stand beside pupils.</summary>
    public const string Parts = "parts";
    public const string Teaches = "teaches";
    public const string Learns = "learns";
    public const string Beside = "beside";

    /// <summary>Code of the act that opens the service.</summary>
    public const string Open = "open";

    public IReadOnlyCollection<string> Kinds { get; } = [ChangeHats.MessageKind];

    public LetterWords Of(LetterReading letter)
    {
        var parts = (OfficeParts)letter.Number(Parts) & OfficeParts.All;
        return new(
            $"What you may do at {letter.School.Name} has changed", "The school has changed what your sign-in opens. From now on it knows you as follows.",
            [.. HatWords.Of(parts, letter.Number(Teaches) > 0, letter.Number(Learns) > 0, letter.Has(Beside)).Select((hat, n) => (n == 0 ? "You are somebody who" : "And who", hat.StartsWith("of ", StringComparison.Ordinal) ? $"is {hat}" : hat))],
            [$"If you did not expect this, ask the school{letter.OrCall}."],
            letter.Links(act => act == Open ? "Open the service" : null));
    }
}
