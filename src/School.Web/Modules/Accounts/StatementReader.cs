using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>What an account came to over some days.</summary>
/// <param name="From">The first of them.</param>
/// <param name="To">The last.</param>
/// <param name="OwedBefore">What was owed when they began; negative where the school held money.</param>
/// <param name="Lines">What happened, in order, with what was owed after each.</param>
/// <param name="OwedAfter">What was owed when they ended.</param>
/// <param name="MinutesAfter">Prepaid minutes then.</param>
internal sealed record Statement(LocalDate From, LocalDate To, long OwedBefore, IReadOnlyList<StatementLine> Lines, long OwedAfter, int MinutesAfter);

internal sealed record StatementLine(AccountItem Item, long Owed);

/// <summary>Reads statements: what stands in the books of the days, whenever it was written there.</summary>
internal sealed class StatementReader(SchoolDb db, AccountReader accounts, SchoolInfo school)
{
    /// <summary>So much happens in a year of lessons every day; a longer list is asked for in parts.</summary>
    public const int Most = 1500;

    public async Task<Statement> ReadAsync(Guid pupilId, LocalDate from, LocalDate to, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var before = await db.Set<EntryLine>().AsNoTracking()
            .Where(l => l.PupilId == pupilId && l.Account == LedgerAccount.Receivable && db.Set<Entry>().Any(e => e.Id == l.EntryId && e.On < from)).SumAsync(l => l.Pence, cancel);
        var minutes = await db.Set<EntryLine>().AsNoTracking()
            .Where(l => l.PupilId == pupilId && l.Account == LedgerAccount.Prepaid && db.Set<Entry>().Any(e => e.Id == l.EntryId && e.On <= to)).SumAsync(l => l.Minutes, cancel);
        var entries = await db.Set<Entry>().AsNoTracking().Include(e => e.Lines).Where(e => e.PupilId == pupilId && e.On >= from && e.On <= to)
            .OrderBy(e => e.On).ThenBy(e => e.Id).Take(Most).ToListAsync(cancel);
        var owed = before;
        var lines = (await accounts.ItemsAsync(entries, facts, cancel)).Select(item => new StatementLine(item, owed += item.Pence)).ToList();
        return new(from, to, before, lines, owed, -minutes);
    }
}
