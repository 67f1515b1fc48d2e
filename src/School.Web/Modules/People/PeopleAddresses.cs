using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

/// <summary>Where letters to somebody who signs in go.</summary>
internal sealed class PersonAddresses(SchoolDb db) : IAddressBook
{
    public ReceiverKind Kind => ReceiverKind.Person;

    public async Task<Addressee?> FindAsync(Guid id, CancellationToken cancel) =>
        // Invited in this very transaction, their name and address may not be in the database yet.
        (db.Set<Person>().Local.FirstOrDefault(p => p.Id == id) ?? await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel)) is { } person
            ? new(person.Name, person.Email ?? "")
            : null;
}

/// <summary>Where letters to an instructor go, with or without a sign-in.</summary>
internal sealed class InstructorAddresses(SchoolDb db, InstructorBook book) : IAddressBook
{
    public ReceiverKind Kind => ReceiverKind.Instructor;

    public async Task<Addressee?> FindAsync(Guid id, CancellationToken cancel) => book.Has(id, out var card)
        ? new(card.Name, card.Email)
        : await db.Set<Instructor>().AsNoTracking().Where(i => i.Id == id).Select(i => new Addressee(i.Name, i.Email)).SingleOrDefaultAsync(cancel);
}

/// <summary>Where letters to somebody beside a pupil go.</summary>
internal sealed class ContactAddresses(SchoolDb db) : IAddressBook
{
    public ReceiverKind Kind => ReceiverKind.Contact;

    public async Task<Addressee?> FindAsync(Guid id, CancellationToken cancel) =>
        await db.Set<Contact>().AsNoTracking().Where(c => c.Id == id).Select(c => new Addressee(c.Name, c.Email)).SingleOrDefaultAsync(cancel);
}
