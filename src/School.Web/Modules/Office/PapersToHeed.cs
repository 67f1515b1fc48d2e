using NodaTime;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Office;

/// <summary>Papers that end soon, have ended or are to be looked at again, whosever they are.</summary>
internal sealed class PapersToHeed(PaperList papers, SchoolInfo school, IClock clock) : INeedAttention
{
    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel) =>
        [.. (await papers.ListAsync((await school.GetAsync(cancel)).Today(clock), cancel)).Select(held => held.Heed).OfType<AttentionItem>()];
}
