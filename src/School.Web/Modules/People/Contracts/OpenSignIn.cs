using School.Web.Platform.Database;

namespace School.Web.Modules.People.Contracts;

internal static class OpenSignIn
{
    /// <summary>Everybody who still signs in: what others had made ends with it.</summary>
    public static IQueryable<Guid> OpenPeople(this SchoolDb db) => db.Set<Person>().Where(p => !p.Closed).Select(p => p.Id);
}
