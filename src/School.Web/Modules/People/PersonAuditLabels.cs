using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

/// <summary>Whose sign-in a line is about; who was tried at cannot be told from who tried.</summary>
internal sealed class PersonAuditLabels(string kind, SchoolDb db) : IAuditLabels
{
    private static readonly AuditLabel Somebodys = new("a sign-in", null);

    public string Kind => kind;

    public AuditLabel? Unnamed => Somebodys;

    public async Task<IReadOnlyDictionary<Guid, AuditLabel>> LabelsAsync(IReadOnlyCollection<Guid> ids, CancellationToken cancel)
    {
        var names = await db.Set<Person>().AsNoTracking().Where(p => ids.Contains(p.Id)).ToDictionaryAsync(p => p.Id, p => p.Name, cancel);
        return ids.Distinct().ToDictionary(id => id, id => names.TryGetValue(id, out var name) ? new AuditLabel($"the sign-in of {name}", null) : Somebodys);
    }
}
