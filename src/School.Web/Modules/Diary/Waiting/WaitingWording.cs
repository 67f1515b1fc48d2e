using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>The words of letters about offers.</summary>
internal sealed class WaitingWording : ILetterWording
{
    public const string Offered = "waiting_offer";
    public const string Ended = "waiting_offer_ended";

    public const string Time = "time";
    public const string Instructor = "instructor";
    public const string InsteadOf = "instead_of";
    public const string HeldUntil = "held_until";

    /// <summary>What the school calls its kind, where it is not a lesson like any other.</summary>
    public const string Kind = "kind";

    /// <summary>A rest within it; there may be several.</summary>
    public const string Break = "break";

    /// <summary>Stands in it where nobody took the time, and it cannot be had as it was offered.</summary>
    public const string Changed = "changed";

    /// <summary>Code of the act that opens the offer.</summary>
    public const string Answer = "answer_offer";

    public IReadOnlyCollection<string> Kinds { get; } = [Offered, Ended];

    public LetterWords Of(LetterReading letter) => letter.Letter.Kind == Offered ? OfOffer(letter) : letter.Has(Changed)
        ? new($"No longer to be had: {When(letter, Time)}", WaitingWords.NotAsOffered, [("When", When(letter, Time))], [], [])
        : new(
        $"No longer free: {When(letter, Time)}", "The lesson that you were offered has gone. You stay on the waiting list.", [("When", When(letter, Time))], [], []);

    private static LetterWords OfOffer(LetterReading letter)
    {
        List<(string, string)> lines = [("When", When(letter, Time)), ("With", letter.Text(Instructor))];
        if (letter.Has(Kind))
        {
            lines.Insert(1, ("What", letter.Text(Kind)));
        }

        if (letter.Has(Break))
        {
            lines.Add(("Breaks", letter.School.Rests(letter.Times(Break))));
        }

        if (letter.Has(InsteadOf))
        {
            lines.Add(("Instead of", When(letter, InsteadOf)));
        }

        return new(
            $"A lesson is free: {When(letter, Time)}",
            "You are on the waiting list, and this time has come free.",
            lines,
            [
                "To take it, open the offer below and press Accept.",
                $"The offer holds until {letter.School.Moment(letter.Moment(HeldUntil))}. Others may have it too: the first to accept gets the lesson. If you do nothing, you stay on the list.",
            ],
            letter.Links(act => act == Answer ? "Open the offer" : null));
    }

    private static string When(LetterReading letter, string name) => letter.School.When(letter.Time(name));
}
