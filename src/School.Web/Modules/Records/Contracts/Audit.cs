using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records.Contracts;

/// <summary>Adds a line to the audit in the transaction of what it tells of.</summary>
internal sealed class Audit(SchoolDb db, IClock clock)
{
    public void Note(Viewer viewer, string what, Guid? aboutId, string words = "") => db.Add(new AuditEntry
    {
        At = clock.GetCurrentInstant(),
        ByPersonId = viewer.PersonId,
        ByName = viewer.Name,
        What = what,
        AboutId = aboutId,
        Words = words,
    });
}
