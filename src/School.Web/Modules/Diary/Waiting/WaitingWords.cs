using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;

namespace School.Web.Modules.Diary.Waiting;

internal static class WaitingWords
{
    /// <summary>"An earlier lesson", "Any lesson, Monday 2 to Sunday 8 March", "Mock test, Monday 2 to Sunday 8 March".</summary>
    public static string Wanted(this WaitingEntry entry, DiaryRules rules) => entry is { From: { } from, To: { } to }
        ? $"{rules.NameOf(entry.Kind) ?? "Any lesson"}, {Diary.Words.Span(from, to)}"
        : "An earlier lesson";

    /// <summary>Whether it waits for a kind of lesson that the school gives no longer: nothing is offered to it.</summary>
    public static bool WaitsInVain(this WaitingEntry entry, DiaryRules rules) => entry.For == WaitingFor.AnyLesson && !rules.KindOf(entry.Kind).Offered;

    /// <summary>The same within a sentence.</summary>
    public static string WantedInside(this WaitingEntry entry, DiaryRules rules) => KindWords.Lower(entry.Wanted(rules))!;

    /// <summary>An offer that nobody took and that cannot be had any more.</summary>
    public const string NotAsOffered = "This time cannot be had as it was offered any more: the diary or the rules of the school have changed since. Your wish stays on the waiting list as long as you leave it there.";

    public static string Of(OfferState state) => state switch
    {
        OfferState.Open => "Open",
        OfferState.Accepted => "Accepted",
        OfferState.Declined => "Declined",
        OfferState.Lapsed => "No answer in time",
        OfferState.Gone => "Gone",
    };
}
