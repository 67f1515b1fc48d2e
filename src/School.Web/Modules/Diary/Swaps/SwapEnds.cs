using School.Web.Modules.Diary.Proposals;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>Ends a swap: its lessons are free for another one, letters that wait are withdrawn, and pupils who were asked hear that their lesson stays.</summary>
internal sealed class SwapEnds(SwapMail mail)
{
    /// <summary>It was carried out, or comes to nothing; nobody is asked any more.</summary>
    public async Task CloseAsync(Proposal proposal, List<SwapAnswer> answers, CancellationToken cancel)
    {
        answers.ForEach(answer => answer.Close());
        await mail.WithdrawAsync(proposal.Id, cancel);
    }

    /// <summary>It comes to nothing. The caller has seen that it is open, under its locks.</summary>
    public async Task EndAsync(Proposal proposal, List<SwapAnswer> answers, SwapEnd end, Func<SwapAnswer, bool> hears, CancellationToken cancel)
    {
        var more = SwapRules.MoreOf(proposal);
        await CloseAsync(proposal, answers, cancel);
        proposal.Stop();
        proposal.KeepMore(more with { Ended = end });
        foreach (var answer in answers.Where(hears))
        {
            await mail.OffAsync(answer, more.Of(answer.LessonId), end, cancel);
        }
    }
}
