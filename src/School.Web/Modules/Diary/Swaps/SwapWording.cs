using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>The words of letters about a swap. Who else is asked stands in none of them.</summary>
internal sealed class SwapWording : ILetterWording
{
    public const string Asked = "swap_asked";
    public const string Off = "swap_off";

    public const string Now = "now";
    public const string NowWith = "now_with";
    public const string Then = "then";
    public const string ThenWith = "then_with";
    public const string Until = "until";

    /// <summary>Why it is off; that somebody said no is told to nobody.</summary>
    public const string End = "end";

    /// <summary>Code of the act that opens the question.</summary>
    public const string Answer = "answer_swap";

    public IReadOnlyCollection<string> Kinds { get; } = [Asked, Off];

    public LetterWords Of(LetterReading letter) => letter.Letter.Kind == Asked
        ? new(
            $"May we move your lesson? Now {When(letter, Now)}",
            "We would like to swap your lesson with another one. Nothing changes unless you say yes.",
            [("Now", $"{When(letter, Now)}, with {letter.Text(NowWith)}"), ("Would become", $"{When(letter, Then)}, with {letter.Text(ThenWith)}")],
            [
                $"Answer by {letter.School.Moment(letter.Moment(Until))} below{letter.OrCall}. It costs you nothing either way.",
                "If you say no, or do not answer, your lesson stays as it is. If you say yes, it moves once everything is settled; we tell you then.",
            ],
            letter.Links(act => act == Answer ? "Answer: yes or no" : null))
        : new(
            $"Your lesson stays: {When(letter, Now)}", $"We had asked whether your lesson could be swapped. {Why(letter)} Nothing was changed.",
            [("When", When(letter, Now))], [], []);

    private static string Why(LetterReading letter) => letter.Text(End) switch
    {
        nameof(SwapEnd.Lapsed) => "It was not settled in time.",
        nameof(SwapEnd.NoLongerFits) => "It can no longer be done.",
        _ => "It will not take place.",
    };

    private static string When(LetterReading letter, string name) => letter.School.When(letter.Time(name));
}
