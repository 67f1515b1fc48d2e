using NodaTime;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Covers;

/// <summary>Cover in words.</summary>
internal static class CoverWords
{
    public static string Of(ProposalState state) => state switch
    {
        ProposalState.Working => "being worked out",
        ProposalState.Proposed => "ready to look at",
        ProposalState.Applied => "carried out",
        ProposalState.Stopped => "dropped",
        ProposalState.Stale => "overtaken by a change",
    };

    /// <summary>"7 of 8 lessons can be covered, 1 of them at another time, with 24 minutes' more driving in all."</summary>
    public static string Summary(IReadOnlyList<ProposalLine> lines, CoverMore answer)
    {
        var (all, cost) = (lines.Count, answer.Cost);
        if (all == cost.Uncovered)
        {
            return all == 1 ? "Nobody can take the lesson." : $"Nobody can take any of the {all} lessons.";
        }

        var covered = cost.Uncovered == 0 ? (all == 1 ? "The lesson can be covered" : $"All {all} lessons can be covered") : $"{all - cost.Uncovered} of {Words.Count(all, "lesson")} can be covered";
        var moved = cost.Moved == 0 ? "at the time booked" : $"{cost.Moved} at another time";
        return !answer.DrivesTold ? $"{covered}, {moved}. How much more driving that is, is not told, since a place of those days is still to be found."
            : $"{covered}, {moved}, with {Words.Count(cost.AddedDriving, "minute")} more driving in all.";
    }

    /// <summary>How sure it is that there is nothing better.</summary>
    public static string HowSure(CoverMore answer) =>
        answer.IsProven ? "Every way to share them out was considered: none leaves fewer lessons uncovered, moves fewer or drives less."
        : answer.Cost.Uncovered == answer.Bound.Uncovered && answer.Cost.Moved == answer.Bound.Moved ? "The time for the search ran out. No other way leaves fewer lessons uncovered or moves fewer; there may be one with less driving."
        : $"The time for the search ran out. There may be a better way, but none that leaves fewer than {answer.Bound.Uncovered} uncovered or moves fewer than {answer.Bound.Moved}.";

    public static string Choice(int minutes) => minutes switch
    {
        0 => "Not at all",
        NodaConstants.MinutesPerDay => "To any time that day",
        _ => $"Up to {ScreenWords.Length(minutes)}",
    };
}
