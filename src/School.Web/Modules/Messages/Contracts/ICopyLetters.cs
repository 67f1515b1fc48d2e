namespace School.Web.Modules.Messages.Contracts;

/// <summary>Knows who gets copies of a pupil's letters; filled by the module whose pupils they are.</summary>
internal interface ICopyLetters
{
    /// <summary>The pupil's name, and the contacts to whom what is written to the pupil goes as well.</summary>
    Task<(string Name, IReadOnlyList<Guid> Contacts)> OfAsync(Guid pupilId, CancellationToken cancel);
}
