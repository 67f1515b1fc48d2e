using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records.Contracts;

/// <summary>Adds a line to the audit in the transaction of what it tells of.</summary>
internal sealed class Audit(SchoolDb db, IClock clock) : INoteChanges
{
    /// <param name="viewer">Who did it.</param>
    /// <param name="what">A stable code that begins with the kind of thing it is about, such as "car.retire".</param>
    /// <param name="aboutId">That thing.</param>
    /// <param name="words">A sentence; no names of pupils and nothing that is guarded.</param>
    public void Note(Viewer viewer, string what, Guid? aboutId, string words) => db.Add(new AuditEntry
    {
        At = clock.GetCurrentInstant(),
        ByPersonId = viewer.PersonId,
        ByName = viewer.Name,
        What = what,
        AboutId = aboutId,
        Words = words,
    });

    /// <summary>Notes what is different about a row, each value before and after. No line when nothing is.</summary>
    public void NoteValues(Viewer viewer, string what, Guid? aboutId, string words, object row) =>
        NoteDifference(viewer, what, aboutId, words, Difference.Values(db.Entry(row)));

    /// <summary>The same where the values are nobody's business: only which fields.</summary>
    public void NoteFields(Viewer viewer, string what, Guid? aboutId, string words, object row) =>
        NoteDifference(viewer, what, aboutId, words, Difference.Fields(db.Entry(row)));

    private void NoteDifference(Viewer viewer, string what, Guid? aboutId, string words, string difference)
    {
        if (difference.Length > 0)
        {
            Note(viewer, what, aboutId, $"{words}: {difference}.");
        }
    }
}
