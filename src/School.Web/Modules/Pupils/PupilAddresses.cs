using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>Where letters to a pupil go.</summary>
internal sealed class PupilAddresses(SchoolDb db, PupilBook book) : IAddressBook
{
    public ReceiverKind Kind => ReceiverKind.Pupil;

    public async Task<Addressee?> FindAsync(Guid id, CancellationToken cancel) => book.Has(id, out var card)
        ? new(card.Name, card.Email)
        : await db.Set<Pupil>().AsNoTracking().Where(p => p.Id == id).Select(p => new Addressee(p.Name, p.Email)).SingleOrDefaultAsync(cancel);
}
