using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>How the people beside a pupil are reached goes with the pupil; and so does what is written to them.</summary>
internal sealed class SeenContacts(SchoolDb db, OwnPupils own) : ISeeContacts, ISeeReceivers
{
    public async Task<IReadOnlySet<Guid>> ByNameAsync(Viewer viewer, IReadOnlyCollection<Guid> contacts, CancellationToken cancel)
    {
        if (contacts.Count == 0 || await own.SeenAsync(viewer, cancel) is not { } seen)
        {
            return new HashSet<Guid>();
        }

        return await db.Set<BesidePupil>().Where(b => contacts.Contains(b.ContactId) && !db.Set<BesidePupil>().Any(other => other.ContactId == b.ContactId && seen.Contains(other.PupilId)))
            .Select(b => b.ContactId).Distinct().ToHashSetAsync(cancel);
    }

    public async Task<Refusal?> RefuseAsync(Viewer viewer, Guid contactId, CancellationToken cancel) => (await ByNameAsync(viewer, [contactId], cancel)).Count == 0 ? null
        : OwnPupils.ReasonNeeded(viewer, await db.Set<BesidePupil>().Where(b => b.ContactId == contactId).OrderBy(b => b.Id).Select(b => b.PupilId).FirstAsync(cancel));

    public async Task<SeenReceivers> OfAsync(Viewer viewer, IReadOnlyCollection<Receiver> receivers, CancellationToken cancel)
    {
        if (!OwnPupils.IsOffice(viewer) || await own.SeenAsync(viewer, cancel) is not { } seen)
        {
            return SeenReceivers.All;
        }

        Guid[] pupils = [.. receivers.Where(to => to.Kind == ReceiverKind.Pupil).Select(to => to.Id).Distinct()];
        Guid[] contacts = [.. receivers.Where(to => to.Kind == ReceiverKind.Contact).Select(to => to.Id).Distinct()];
        var open = pupils.Length == 0 ? [] : await db.Set<Pupil>().Where(p => pupils.Contains(p.Id) && seen.Contains(p.Id)).Select(p => p.Id).ToListAsync(cancel);
        var byName = await ByNameAsync(viewer, contacts, cancel);
        return new(new HashSet<Receiver>([.. open.Select(Receiver.Pupil), .. contacts.Where(id => !byName.Contains(id)).Select(Receiver.Contact)]), viewer.InstructorId);
    }
}
