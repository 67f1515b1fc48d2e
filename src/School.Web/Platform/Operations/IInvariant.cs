using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;

namespace School.Web.Platform.Operations;

/// <summary>Something that is true of every database in order. A module registers its own; <c>School.Web check</c> looks at them all.</summary>
internal interface IInvariant
{
    /// <summary>A stable snake_case word for it.</summary>
    string Code { get; }

    /// <summary>What is true, as a sentence without its full stop.</summary>
    string Sentence { get; }

    /// <summary>Looks, inside a transaction that cannot write and sees one moment.</summary>
    Task<Finding> LookAsync(SchoolDb db, CancellationToken cancel);
}

/// <summary>How many there are, and those of which it is not true: a word for what it is, and its id. Nothing personal.</summary>
internal sealed record Finding(long LookedAt, IReadOnlyList<string> Broken);

/// <summary>One that SQL can say.</summary>
/// <param name="Code">See <see cref="IInvariant"/>.</param>
/// <param name="Sentence">See <see cref="IInvariant"/>.</param>
/// <param name="Count">Selects how many are looked at, as "Value".</param>
/// <param name="Broken">Selects words and ids of those of which it is not true, as "Value".</param>
internal sealed record SqlInvariant(string Code, string Sentence, string Count, string Broken) : IInvariant
{
    public async Task<Finding> LookAsync(SchoolDb db, CancellationToken cancel) => new(
        (await db.Database.SqlQueryRaw<long>(Count).ToListAsync(cancel))[0],
        await db.Database.SqlQueryRaw<string>(Broken).ToListAsync(cancel));
}
