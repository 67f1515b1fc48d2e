using School.Web.Platform.Access;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>Of which receivers of letters somebody sees more than the name.</summary>
/// <param name="Open">Pupils, and contacts beside them; null for everybody.</param>
/// <param name="Instructor">Who the viewer is as an instructor.</param>
internal sealed record SeenReceivers(IReadOnlySet<Receiver>? Open, Guid? Instructor)
{
    public static SeenReceivers All { get; } = new(null, null);

    /// <summary>Whether the viewer sees where a letter to them goes.</summary>
    public bool Reached(Receiver to) => Open is null || to.Kind == ReceiverKind.Instructor || Open.Contains(to);

    /// <summary>Whether the viewer reads what is written to them: of letters to instructors, which speak of pupils, their own.</summary>
    public bool Read(Receiver to) => Open is null || (to.Kind == ReceiverKind.Instructor ? to.Id == Instructor : Open.Contains(to));
}

/// <summary>Knows of which receivers somebody sees more than the name; filled by the module whose pupils they are or stand beside.</summary>
internal interface ISeeReceivers
{
    Task<SeenReceivers> OfAsync(Viewer viewer, IReadOnlyCollection<Receiver> receivers, CancellationToken cancel);
}
