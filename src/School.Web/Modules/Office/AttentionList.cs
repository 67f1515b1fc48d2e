using NodaTime;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Office;

/// <summary>One cause that needs attention, with all that comes of it, the first to bite first.</summary>
internal sealed record AttentionEntry(string Id, AttentionUrgency Urgency, IReadOnlyList<AttentionItem> Items)
{
    public AttentionItem First => Items[0];

    public string Sentence => Items.Count > 1 && First.Cause is { } cause ? cause.Words(Items.Count) : First.Sentence;
}

/// <summary>Everything that waits for somebody, from every module: what does the most harm first, then what began first.</summary>
internal sealed class AttentionList(IEnumerable<INeedAttention> modules, SchoolInfo school, IClock clock)
{
    private const int TodayDays = 2;

    public async Task<IReadOnlyList<AttentionItem>> AttentionAsync(CancellationToken cancel)
    {
        var items = new List<AttentionItem>();
        foreach (var module in modules)
        {
            items.AddRange(await module.ListAsync(cancel));
        }

        return [.. items.OrderBy(item => item.Heading.Rank).ThenBy(item => item.Since)];
    }

    /// <summary>The same by cause, the most urgent first.</summary>
    public async Task<IReadOnlyList<AttentionEntry>> EntriesAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        return
        [
            .. (await AttentionAsync(cancel)).GroupBy(item => item.Cause is { } cause ? $"{item.Kind} {cause.Key}" : $"{item.Kind} {item.Href} {item.Sentence}")
                .Select(cause => new AttentionEntry(cause.Key, cause.Min(item => Of(item, today)), [.. cause.OrderBy(item => item.Since)]))
                .OrderBy(entry => entry.Urgency).ThenBy(entry => entry.First.Heading.Rank).ThenBy(entry => entry.First.Since),
        ];
    }

    private static AttentionUrgency Of(AttentionItem item, LocalDate today) =>
        item.Urgency ?? (item.Since <= today ? AttentionUrgency.Now : item.Since <= today.PlusDays(TodayDays) ? AttentionUrgency.Today : AttentionUrgency.Soon);
}
