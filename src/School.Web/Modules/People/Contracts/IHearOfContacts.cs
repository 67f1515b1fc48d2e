using School.Web.Platform.Access;

namespace School.Web.Modules.People.Contracts;

/// <summary>Whoever has to do something when a contact changes, in the transaction of the change: filled by the modules that name contacts.</summary>
internal interface IHearOfContacts
{
    Task ChangedAsync(Viewer viewer, ContactCard before, ContactCard after, CancellationToken cancel);
}
