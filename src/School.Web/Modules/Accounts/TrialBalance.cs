using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>An account with what it comes to.</summary>
internal sealed record BalanceLine(LedgerAccount Account, long Pence)
{
    public long Debit => Math.Max(0, Pence);

    public long Credit => Math.Max(0, -Pence);
}

/// <summary>The trial balance, and the journal as plain text.</summary>
internal sealed class TrialBalance(SchoolDb db)
{
    public async Task<IReadOnlyList<BalanceLine>> AtAsync(Guid bookId, LocalDate at, CancellationToken cancel)
    {
        var sums = await (
            from line in db.Set<EntryLine>().AsNoTracking()
            join entry in db.Set<Entry>() on line.EntryId equals entry.Id
            where entry.BookId == bookId && entry.On <= at
            group line by line.Account into account
            select new { account.Key, Pence = account.Sum(line => line.Pence) }).ToListAsync(cancel);
        return [.. sums.OrderBy(sum => sum.Key).Select(sum => new BalanceLine(sum.Key, sum.Pence))];
    }

    public IQueryable<Entry> Entries(Guid bookId, LocalDate from, LocalDate to) =>
        db.Set<Entry>().AsNoTracking().Include(e => e.Lines).Where(e => e.BookId == bookId && e.On >= from && e.On <= to);

    public static string NameOf(LedgerAccount account) => account switch
    {
        LedgerAccount.Receivable => "Owed by pupils",
        LedgerAccount.Bank => "Bank",
        LedgerAccount.Cash => "Cash",
        LedgerAccount.Card => "Card payments on their way",
        LedgerAccount.Prepaid => "Prepaid hours",
        LedgerAccount.LessonIncome => "Lessons",
        LedgerAccount.LateIncome => "Late cancellations and moves",
        LedgerAccount.MissedIncome => "Missed lessons",
        LedgerAccount.VatOut => "VAT charged",
        LedgerAccount.WriteOff => "Given up, and cash differences",
        LedgerAccount.OpeningBalances => "From before the books were opened",
    };

    /// <summary>A stable snake_case word for it.</summary>
    public static string CodeOf(LedgerAccount account) => System.Text.Json.JsonNamingPolicy.SnakeCaseLower.ConvertName(account.ToString());
}
