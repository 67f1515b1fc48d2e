using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;

namespace School.Web.Modules.Pupils;

/// <summary>Pupils by name.</summary>
internal sealed class PupilAuditLabels(PupilBook pupils) : IAuditLabels
{
    public string Kind => "pupil";

    public async Task<IReadOnlyDictionary<Guid, AuditLabel>> LabelsAsync(IReadOnlyCollection<Guid> ids, CancellationToken cancel)
    {
        var cards = await pupils.CardsAsync(ids, cancel);
        return ids.Distinct().ToDictionary(id => id, id => new AuditLabel(cards.TryGetValue(id, out var pupil) ? pupil.Name : "a pupil", $"/pupils/{id}"));
    }
}
