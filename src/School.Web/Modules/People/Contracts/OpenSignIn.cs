using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.Contracts;

internal static class OpenSignIn
{
    /// <summary>Whether this person still signs in: what they had made ends with it.</summary>
    public static Task<bool> IsOpenAsync(this SchoolDb db, Guid person, CancellationToken cancel) =>
        db.Set<Person>().AnyAsync(p => p.Id == person && !p.Closed, cancel);
}
