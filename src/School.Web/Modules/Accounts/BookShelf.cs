using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>The school's books with their prices and fees.</summary>
internal sealed class BookShelf(SchoolDb db)
{
    public const string Page = "/accounts/books";

    /// <summary>Null until they are opened: then no money is kept.</summary>
    public async Task<Book?> FindAsync(CancellationToken cancel) =>
        await db.Set<Book>().AsNoTracking().AsSplitQuery().Include(b => b.Prices).Include(b => b.Fees).SingleOrDefaultAsync(b => b.InstructorId == null, cancel);

    public Task<bool> AreOpenAsync(CancellationToken cancel) => db.Set<Book>().AnyAsync(b => b.InstructorId == null, cancel);

    public static Refusal NotOpen { get; } = Refusal.Rule(
        "books_not_open", new("The books are not open yet. Open them with the price of a lesson; then money is kept.", "Your school does not keep accounts here yet. Ask the office.")).CuredOn(Page);

    /// <summary>For who takes money, and does not keep the books.</summary>
    public static Refusal NotTheirs { get; } = new(RefusalKind.NotAllowed, "not_your_books", "Whoever keeps the books does this. Ask the office.");

    /// <summary>Held while numbers are given out and money changes hands.</summary>
    public static string LockOf(Guid bookId) => $"books:{bookId}";
}

/// <summary>Writes entries, and reads what is left of prepaid blocks. In the caller's transaction and under its locks.</summary>
internal sealed class Ledger(SchoolDb db, IClock clock)
{
    /// <summary>Held by whatever changes what a pupil owes or has left.</summary>
    public static string LockOf(Guid pupilId) => $"account:{pupilId}";

    public Task LockAsync(Guid pupilId, CancellationToken cancel) => db.LockAsync([LockOf(pupilId)], cancel);

    /// <summary>An entry about a pupil; null where there is nothing to post.</summary>
    public Entry? Post(Book book, Viewer viewer, EntryKind kind, LocalDate on, Guid? pupilId, JournalEntry? journal, Func<Entry, Entry>? about = null)
    {
        if (journal is null)
        {
            return null;
        }

        var entry = new Entry { BookId = book.Id, On = on, At = clock.GetCurrentInstant(), Kind = kind, PostedBy = viewer.PersonId, PupilId = pupilId };
        entry = about is null ? entry : about(entry);
        entry.Lines.AddRange(journal.Lines.Select(EntryLine.Of));
        return db.Add(entry).Entity;
    }

    /// <summary>The pupil's blocks, oldest first, as the lines that are saved leave them.</summary>
    public async Task<IReadOnlyList<(Block Row, PrepaidBlock Left)>> BlocksAsync(Guid pupilId, CancellationToken cancel)
    {
        var rows = await db.Set<Block>().AsNoTracking().Where(b => b.PupilId == pupilId).OrderBy(b => b.SoldOn).ThenBy(b => b.Id).ToListAsync(cancel);
        if (rows.Count == 0)
        {
            return [];
        }

        var sums = await db.Set<EntryLine>().AsNoTracking().Where(l => l.PupilId == pupilId && l.Account == LedgerAccount.Prepaid)
            .GroupBy(l => l.BlockId).Select(g => new { g.Key, Minutes = g.Sum(l => l.Minutes), Pence = g.Sum(l => l.Pence) }).ToListAsync(cancel);
        var left = sums.ToDictionary(sum => sum.Key ?? Guid.Empty, sum => (sum.Minutes, sum.Pence));
        return rows.ConvertAll(row => (row, left.TryGetValue(row.Id, out var sum) ? row.Standing(row.Minutes + sum.Minutes, row.Net + sum.Pence) : row.Standing(0, 0)));
    }

    public async Task<long> OwedAsync(Guid pupilId, CancellationToken cancel) =>
        await db.Set<EntryLine>().AsNoTracking().Where(l => l.PupilId == pupilId && l.Account == LedgerAccount.Receivable).SumAsync(l => l.Pence, cancel);
}
