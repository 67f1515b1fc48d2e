namespace School.Web.Modules.Messages.Contracts;

/// <summary>How a receiver is reached.</summary>
internal sealed record Addressee(string Name, string Email);

/// <summary>Knows the receivers of one kind; filled by the module whose people they are.</summary>
internal interface IAddressBook
{
    ReceiverKind Kind { get; }

    /// <summary>Null where there is nobody of that id.</summary>
    Task<Addressee?> FindAsync(Guid id, CancellationToken cancel);
}
