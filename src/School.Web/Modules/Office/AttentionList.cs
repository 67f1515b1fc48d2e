using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Office;

/// <summary>Everything that waits for somebody, from every module: what does the most harm first, then what began first.</summary>
internal sealed class AttentionList(IEnumerable<INeedAttention> modules)
{
    public async Task<IReadOnlyList<AttentionItem>> AttentionAsync(CancellationToken cancel)
    {
        var items = new List<AttentionItem>();
        foreach (var module in modules)
        {
            items.AddRange(await module.ListAsync(cancel));
        }

        return [.. items.OrderBy(item => item.Heading.Rank).ThenBy(item => item.Since)];
    }
}
