namespace School.Web.Modules.Records.Contracts;

/// <summary>What a line of the audit is about, as the page shows it.</summary>
/// <param name="Words">Its name, or a word for it.</param>
/// <param name="Href">Its page; null where it has none.</param>
internal sealed record AuditLabel(string Words, string? Href);

/// <summary>Filled by each module for the things that its lines are about.</summary>
internal interface IAuditLabels
{
    /// <summary>The first word of the codes of their lines, such as <c>pupil</c> of <c>pupil.retire</c>.</summary>
    string Kind { get; }

    /// <summary>For lines that name none of them; null where those are about the school.</summary>
    AuditLabel? Unnamed => null;

    /// <summary>Looked up at each showing, so that the audit itself holds no pupil's name; every id is in the answer.</summary>
    Task<IReadOnlyDictionary<Guid, AuditLabel>> LabelsAsync(IReadOnlyCollection<Guid> ids, CancellationToken cancel);
}

/// <summary>One word for all things of a kind, each with its page where they have one.</summary>
internal sealed class PlainAuditLabels(string kind, string words, string? pages) : IAuditLabels
{
    public string Kind => kind;

    public AuditLabel? Unnamed => pages is null ? new(words, null) : null;

    public Task<IReadOnlyDictionary<Guid, AuditLabel>> LabelsAsync(IReadOnlyCollection<Guid> ids, CancellationToken cancel) =>
        Task.FromResult<IReadOnlyDictionary<Guid, AuditLabel>>(ids.Distinct().ToDictionary(id => id, id => new AuditLabel(words, pages is null ? null : pages + id)));
}
