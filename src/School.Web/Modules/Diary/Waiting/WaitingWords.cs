using School.Web.Modules.Diary.Lessons;

namespace School.Web.Modules.Diary.Waiting;

internal static class WaitingWords
{
    /// <summary>"An earlier lesson", "Any lesson, Monday 2 to Sunday 8 March".</summary>
    public static string Wanted(this WaitingEntry entry) => entry is { From: { } from, To: { } to } ? $"Any lesson, {Diary.Words.Span(from, to)}" : "An earlier lesson";

    /// <summary>The same within a sentence.</summary>
    public static string WantedInside(this WaitingEntry entry) => entry.Wanted() is var words ? char.ToLowerInvariant(words[0]) + words[1..] : "";

    public static string Of(OfferState state) => state switch
    {
        OfferState.Open => "Open",
        OfferState.Accepted => "Accepted",
        OfferState.Declined => "Declined",
        OfferState.Lapsed => "No answer in time",
        OfferState.Gone => "Gone",
    };
}
