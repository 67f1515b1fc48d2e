using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Contracts;

/// <summary>Knows of which people beside pupils somebody sees the name alone; filled by the module whose pupils they stand beside.</summary>
internal interface ISeeContacts
{
    /// <summary>Those of them who stand beside pupils of whom the viewer sees no more than the name, and beside nobody else.</summary>
    Task<IReadOnlySet<Guid>> ByNameAsync(Viewer viewer, IReadOnlyCollection<Guid> contacts, CancellationToken cancel);

    /// <summary>Null where the viewer may read and change how they are reached.</summary>
    Task<Refusal?> RefuseAsync(Viewer viewer, Guid contactId, CancellationToken cancel);
}
