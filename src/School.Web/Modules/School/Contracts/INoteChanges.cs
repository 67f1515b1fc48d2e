using School.Web.Platform.Access;

namespace School.Web.Modules.School.Contracts;

/// <summary>What this module asks of the one that keeps the audit.</summary>
internal interface INoteChanges
{
    /// <summary>Adds a line that names which fields of a row are different, in the transaction of the change. No line when none is.</summary>
    void NoteFields(Viewer viewer, string what, Guid? aboutId, string words, object row);
}
