namespace School.Web.Modules.Records.Contracts;

/// <summary>What says how long something has to be kept.</summary>
/// <param name="Words">Its name.</param>
/// <param name="Url">Where it can be read; null where there is no such place.</param>
internal sealed record RetentionSource(string Words, string? Url = null);

/// <summary>
/// A kind of row that is not kept for ever: for how long, why, and who decides. A module registers one for each kind of its own; what has none
/// is kept for ever, for a reason that stands in docs/operations.md.
/// </summary>
/// <param name="Code">A stable snake_case word for it.</param>
/// <param name="Kind">What it is, as people say it.</param>
/// <param name="Clears">What goes and from when its age counts, as a sentence.</param>
/// <param name="Reason">Why it is kept for that long and no longer, as sentences.</param>
internal sealed record RetentionRule(string Code, string Kind, string Clears, string Reason)
{
    /// <summary>For how many days, unless the school says otherwise.</summary>
    public required int Days { get; init; }

    /// <summary>The fewest that the school may choose.</summary>
    public required int Least { get; init; }

    /// <summary>The most that it may choose. Where both are one number the school decides nothing.</summary>
    public required int Most { get; init; }

    /// <summary>Who says that it must be kept for the least time.</summary>
    public RetentionSource? Source { get; init; }

    public required string Table { get; init; }

    /// <summary>A uuid that tells the rows apart; null where none does.</summary>
    public string? Key { get; init; }

    /// <summary>An SQL condition on its rows, the table as r: which rows of the table are of the kind.</summary>
    public string Of { get; init; } = "true";

    /// <summary>An SQL condition besides: which of them may go at all.</summary>
    public string MayGo { get; init; } = "true";

    /// <summary>The moment from which the age counts, in SQL; it has an index.</summary>
    public required string Since { get; init; }

    /// <summary>What goes with a row, table and column that holds its key.</summary>
    public IReadOnlyList<(string Table, string Column)> With { get; init; } = [];

    public bool SchoolDecides => Least < Most;

    /// <summary>SQL for the moment up to which a rule has cleared: what is older may be gone, and rightly so.</summary>
    public static string ClearedUntil(string code) => $"(SELECT coalesce(max(k.cleared_until), '-infinity') FROM records.retention_marks k WHERE k.code = '{code}')";
}
