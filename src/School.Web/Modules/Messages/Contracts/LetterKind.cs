namespace School.Web.Modules.Messages.Contracts;

/// <summary>A kind of letter and what it answers to. A module names each that it writes, so that none is there without its cause.</summary>
/// <param name="Kind">As the letter says it.</param>
/// <param name="Cause">An SQL condition on the letter, messages.messages m: true while what it is about stands in the database.</param>
internal sealed record LetterKind(string Kind, string Cause)
{
    /// <summary>Those of it that go to a pupil tell what was agreed, changed or charged: kept for as long as that may be argued about.</summary>
    public bool IsProof { get; init; }

    /// <summary>Those of it that go to a pupil go as a copy to whoever is beside the pupil and gets their letters: lesson times and test days.</summary>
    public bool IsCopied { get; init; }

    /// <summary>Names of the facts that tell what is charged, which no copy has.</summary>
    public IReadOnlyCollection<string> Money { get; init; } = [];
}
