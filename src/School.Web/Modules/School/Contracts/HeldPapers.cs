using NodaTime;
using School.Core.Papers;

namespace School.Web.Modules.School.Contracts;

/// <summary>A paper with whose it is in words, and where it is put right.</summary>
/// <param name="Paper">The paper.</param>
/// <param name="Name">Whose it is.</param>
/// <param name="Page">The page about them.</param>
/// <param name="Cure">The form that enters the new date, at its field.</param>
internal sealed record HeldPaper(Paper Paper, string Name, string Page, string Cure)
{
    /// <summary>What the office is told about it today; null while there is nothing to do.</summary>
    public AttentionItem? Heed { get; init; }
}

/// <summary>Filled by each module whose people or things have papers.</summary>
internal interface IHoldPapers
{
    /// <summary>Those of everybody and everything that is still at the school, as they stand today.</summary>
    Task<IReadOnlyList<HeldPaper>> ListAsync(LocalDate today, CancellationToken cancel);
}

/// <summary>All papers of the school: what ends first stands first.</summary>
internal sealed class PaperList(IEnumerable<IHoldPapers> modules)
{
    public async Task<IReadOnlyList<HeldPaper>> ListAsync(LocalDate today, CancellationToken cancel)
    {
        var all = new List<HeldPaper>();
        foreach (var module in modules)
        {
            all.AddRange(await module.ListAsync(today, cancel));
        }

        return
        [
            .. all.OrderBy(held => held.Paper.IsVoid ? LocalDate.MinIsoValue : held.Paper.Until ?? LocalDate.MaxIsoValue)
                .ThenBy(held => held.Name, StringComparer.Ordinal).ThenBy(held => held.Paper.HolderId).ThenBy(held => held.Paper.Kind),
        ];
    }
}
