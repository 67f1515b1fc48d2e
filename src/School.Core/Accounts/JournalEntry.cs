namespace School.Core.Accounts;

/// <summary>One line of an entry.</summary>
/// <param name="Account">The account.</param>
/// <param name="Pence">A debit is positive, a credit negative; never nought.</param>
public sealed record JournalLine(LedgerAccount Account, long Pence)
{
    /// <summary>Whose line it is; where the account is kept for each pupil.</summary>
    public Guid? PupilId { get; init; }

    /// <summary>The block that the minutes belong to.</summary>
    public Guid? BlockId { get; init; }

    /// <summary>Who has the cash; null for the office.</summary>
    public Guid? HolderId { get; init; }

    /// <summary>Minutes of teaching, signed like the pence: a sale of ten hours is -600, an hour taught from it +60. Nought elsewhere.</summary>
    public int Minutes { get; init; }
}

/// <summary>An entry that balances: its lines come to nought, and cannot be changed afterwards.</summary>
public sealed record JournalEntry
{
    private JournalEntry(IReadOnlyList<JournalLine> lines) => Lines = lines;

    /// <summary>Its lines, in the order in which they were given.</summary>
    public IReadOnlyList<JournalLine> Lines { get; }

    /// <summary>Makes an entry; lines of nought pence and nought minutes are left out.</summary>
    /// <param name="lines">At least two that say something, or none at all.</param>
    /// <returns>The entry, or null where nothing is left to post.</returns>
    /// <exception cref="InvalidOperationException">The lines do not come to nought.</exception>
    public static JournalEntry? Of(params IEnumerable<JournalLine> lines)
    {
        var said = lines.Where(line => line.Pence != 0 || line.Minutes != 0).ToList();
        var difference = said.Sum(line => line.Pence);
        return difference != 0 ? throw new InvalidOperationException($"The entry is out by {difference} pence.") : said.Count == 0 ? null : new(said);
    }

    /// <summary>The entry that undoes this one.</summary>
    public JournalEntry Reversed() => new([.. Lines.Select(line => line with { Pence = -line.Pence, Minutes = -line.Minutes })]);

    /// <summary>Whether another entry says the same, line for line.</summary>
    public bool SaysTheSameAs(JournalEntry other) => Lines.SequenceEqual(other.Lines);
}
