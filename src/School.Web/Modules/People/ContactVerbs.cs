using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

internal sealed class AddContact(SchoolDb db, Audit audit)
{
    public Task<Outcome<Contact>> RunAsync(Viewer viewer, ContactDetails input, CancellationToken cancel) => db.InTransactionAsync<Contact>(
        cancel =>
        {
            var read = input.Read();
            if (read.Ok)
            {
                db.Add(read.Value);
                audit.Note(viewer, "contact.add", read.Value.Id, "Added a contact.");
            }

            return Task.FromResult(read);
        },
        cancel);
}

internal sealed class ChangeContactDetails(SchoolDb db, ISeeContacts sees, IEnumerable<IHearOfContacts> hearers, Audit audit)
{
    public Task<Outcome<Contact>> RunAsync(Viewer viewer, Guid id, ContactDetails input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Contact>(
        async cancel =>
        {
            var taken = await db.Set<Contact>().TakeAsync(id, expected, "contact", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            if (await sees.RefuseAsync(viewer, id, cancel) is { } unseen)
            {
                return unseen;
            }

            var read = input.Read();
            if (!read.Ok)
            {
                return read;
            }

            var (row, typed) = (taken.Value, read.Value);
            var before = ContactBook.Card(row);
            (row.Name, row.Email, row.Phone, row.Kind) = (typed.Name, typed.Email, typed.Phone, typed.Kind);
            audit.NoteFields(viewer, "contact.change", id, "Changed a contact", row);
            foreach (var hearer in hearers)
            {
                await hearer.ChangedAsync(viewer, before, ContactBook.Card(row), cancel);
            }

            return taken;
        },
        cancel);
}

/// <summary>Forgets somebody who is beside nobody any more; their sign-in ends with it, or loses that hat.</summary>
internal sealed class ForgetContact(SchoolDb db, ChangeHats hats, Audit audit)
{
    public Task<Outcome<Contact>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<Contact>(
        async cancel =>
        {
            var taken = await db.Set<Contact>().TakeAsync(id, expected, "contact", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var signIn = await db.Set<Person>().AsNoTracking().Where(p => p.ContactId == id).Select(p => (Guid?)p.Id).SingleOrDefaultAsync(cancel);
            if (signIn is { } person && await hats.TakeOffAsync(viewer, person, Hat.BesidePupil, cancel) is { } refused)
            {
                return refused;
            }

            db.Remove(taken.Value);
            audit.Note(viewer, "contact.forget", id, "Forgot a contact, who is beside nobody any more.");
            return taken;
        },
        cancel);
}
