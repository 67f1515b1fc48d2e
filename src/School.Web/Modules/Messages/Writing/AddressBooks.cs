using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>Every receiver, whichever module knows them.</summary>
internal sealed class AddressBooks(IEnumerable<IAddressBook> books)
{
    public Task<Addressee?> FindAsync(Receiver to, CancellationToken cancel) => books.Single(book => book.Kind == to.Kind).FindAsync(to.Id, cancel);
}
