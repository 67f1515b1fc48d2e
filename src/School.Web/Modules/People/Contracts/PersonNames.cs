using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.Contracts;

/// <summary>Names of those who sign in, for what says who did something.</summary>
internal sealed class PersonNames(SchoolDb db)
{
    public async Task<IReadOnlyDictionary<Guid, string>> OfAsync(IReadOnlyCollection<Guid> ids, CancellationToken cancel) => ids.Count == 0
        ? new Dictionary<Guid, string>()
        : await db.Set<Person>().AsNoTracking().Where(p => ids.Contains(p.Id)).ToDictionaryAsync(p => p.Id, p => p.Name, cancel);
}
