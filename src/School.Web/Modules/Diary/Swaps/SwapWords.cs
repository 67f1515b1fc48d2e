using School.Web.Modules.Diary.Proposals;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>What became of a swap, for staff.</summary>
internal static class SwapWords
{
    public static string Of(Proposal swap, SwapMore more) => swap.State switch
    {
        ProposalState.Applied => "✓ swapped",
        ProposalState.Stopped => more.Ended switch
        {
            SwapEnd.Declined => "■ a pupil said no",
            SwapEnd.Lapsed => "■ not settled in time",
            SwapEnd.NoLongerFits => "■ could not be done any more",
            SwapEnd.Dropped or null => "■ dropped",
        },
        _ => swap.LinesOf().Any(line => line.Act is ProposalAct.None) ? "■ cannot be done" : "○ open",
    };
}
