using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>Who owes how much, by age.</summary>
internal sealed record Debtor(Guid PupilId, DebtByAge Debt);

/// <summary>The office's day of money: what was taken, who holds cash, who owes.</summary>
internal sealed class MoneyDay(SchoolDb db)
{
    public const int DebtorsShown = 30;

    public async Task<IReadOnlyList<Payment>> TakenAsync(Guid bookId, LocalDate day, CancellationToken cancel) =>
        await db.Set<Payment>().AsNoTracking().Where(p => p.BookId == bookId && p.PaidOn == day).OrderByDescending(p => p.Number).Take(200).ToListAsync(cancel);

    /// <summary>Cash in hand of each instructor, and of the office by the empty id.</summary>
    public async Task<IReadOnlyDictionary<Guid, long>> CashAsync(CancellationToken cancel) =>
        (await db.Set<EntryLine>().AsNoTracking().Where(l => l.Account == LedgerAccount.Cash)
            .GroupBy(l => l.HolderId).Select(g => new { g.Key, Pence = g.Sum(l => l.Pence) }).ToListAsync(cancel))
        .Where(sum => sum.Pence != 0).ToDictionary(sum => sum.Key ?? Guid.Empty, sum => sum.Pence);

    /// <summary>Those who owe most, with how long they have; and how many there are.</summary>
    public async Task<(IReadOnlyList<Debtor> Most, int All, long Pence)> DebtorsAsync(LocalDate today, CancellationToken cancel)
    {
        var owing = await db.Set<EntryLine>().AsNoTracking().Where(l => l.Account == LedgerAccount.Receivable)
            .GroupBy(l => l.PupilId).Select(g => new { g.Key, Pence = g.Sum(l => l.Pence) }).Where(sum => sum.Pence > 0).OrderByDescending(sum => sum.Pence).ToListAsync(cancel);
        var shown = owing.Take(DebtorsShown).Select(sum => sum.Key).ToList();
        var lines = shown.Count == 0 ? [] : await (
            from line in db.Set<EntryLine>().AsNoTracking()
            join entry in db.Set<Entry>() on line.EntryId equals entry.Id
            where line.Account == LedgerAccount.Receivable && shown.Contains(line.PupilId)
            select new { line.PupilId, entry.On, line.Pence }).ToListAsync(cancel);
        var of = lines.ToLookup(line => line.PupilId, line => (line.On, line.Pence));
        return ([.. shown.OfType<Guid>().Select(id => new Debtor(id, DebtByAge.Of(of[id], today)))], owing.Count, owing.Sum(sum => sum.Pence));
    }
}
