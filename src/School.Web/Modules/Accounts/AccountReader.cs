using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>What a pupil owes and has left, with what led there.</summary>
/// <param name="Book">The books.</param>
/// <param name="OwedPence">Negative where the school holds money of theirs.</param>
/// <param name="Blocks">Prepaid hours, oldest first.</param>
/// <param name="Items">What happened, the latest first.</param>
/// <param name="Fees">Late and missed lessons, the latest first.</param>
/// <param name="More">There are earlier items.</param>
internal sealed record PupilAccount(Book Book, long OwedPence, IReadOnlyList<BlockLeft> Blocks, IReadOnlyList<AccountItem> Items, IReadOnlyList<DecidedFee> Fees, bool More)
{
    public int MinutesLeft => Blocks.Sum(block => block.MinutesLeft);

    /// <summary>The reference by which a transfer is known.</summary>
    public required string Reference { get; init; }
}

/// <summary>A block, and what is left of it.</summary>
internal sealed record BlockLeft(Block Row, PrepaidBlock Standing, BlockRefund Refund)
{
    public int MinutesLeft => Standing.MinutesLeft;
}

/// <summary>Something that happened on an account.</summary>
/// <param name="Id">The entry.</param>
/// <param name="On">Its day.</param>
/// <param name="Kind">What it is.</param>
/// <param name="Pence">What is owed the more for it; negative for what was paid.</param>
/// <param name="Minutes">Prepaid minutes added, or used where negative.</param>
/// <param name="Words">In words.</param>
internal sealed record AccountItem(Guid Id, LocalDate On, EntryKind Kind, long Pence, int Minutes, string Words)
{
    public Guid? LessonId { get; init; }

    public Guid? PaymentId { get; init; }
}

/// <summary>Reads accounts.</summary>
internal sealed class AccountReader(SchoolDb db, BookShelf shelf, Ledger ledger, SchoolInfo school, IClock clock)
{
    public const int PageSize = 40;

    /// <summary>Null until the books are open. Whose account it may be is for the caller to have asked.</summary>
    public async Task<PupilAccount?> FindAsync(Guid pupilId, int page, CancellationToken cancel)
    {
        if (await shelf.FindAsync(cancel) is not { } book)
        {
            return null;
        }

        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var entries = await db.Set<Entry>().AsNoTracking().Include(e => e.Lines).Where(e => e.PupilId == pupilId).OrderByDescending(e => e.On).ThenByDescending(e => e.Id)
            .Skip((page - 1) * PageSize).Take(PageSize + 1).ToListAsync(cancel);
        var items = await ItemsAsync([.. entries.Take(PageSize)], facts, cancel);
        var fees = await db.Set<DecidedFee>().AsNoTracking().Where(f => f.PupilId == pupilId).OrderByDescending(f => f.At).Take(PageSize).ToListAsync(cancel);
        var blocks = await ledger.BlocksAsync(pupilId, cancel);
        return new(
            book,
            await ledger.OwedAsync(pupilId, cancel),
            [.. blocks.Select(block => new BlockLeft(block.Row, block.Left, block.Row.Refund(block.Left.MinutesUsed, today)))],
            items,
            fees,
            entries.Count > PageSize)
        {
            Reference = ReferenceOf(pupilId),
        };
    }

    /// <summary>What entries say, in their order.</summary>
    public async Task<IReadOnlyList<AccountItem>> ItemsAsync(IReadOnlyList<Entry> entries, SchoolFacts facts, CancellationToken cancel)
    {
        var ids = entries.Select(e => e.PaymentId).OfType<Guid>().ToList();
        var payments = ids.Count == 0 ? [] : await db.Set<Payment>().AsNoTracking().Where(p => ids.Contains(p.Id)).ToDictionaryAsync(p => p.Id, cancel);
        return [.. entries.Select(entry => Item(entry, payments, facts))];
    }

    public Task<Payment?> PaymentAsync(Guid id, CancellationToken cancel) => db.Set<Payment>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel);

    /// <summary>By ISO 11649, at most 18 characters: made of the pupil's id, so that it never changes.</summary>
    public static string ReferenceOf(Guid pupilId)
    {
        const string Letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
        var bits = new System.Numerics.BigInteger(pupilId.ToByteArray(bigEndian: true).AsSpan(7), isUnsigned: true, isBigEndian: true);
        var body = new char[CreditorReference.LongestBody];
        for (var place = body.Length - 1; place >= 0; place--)
        {
            body[place] = Letters[(int)(bits % 32)];
            bits /= 32;
        }

        return CreditorReference.Of(new string(body));
    }

    private static AccountItem Item(Entry entry, Dictionary<Guid, Payment> payments, SchoolFacts facts) => new(
        entry.Id,
        entry.On,
        entry.Kind,
        entry.Lines.Where(line => line.Account == LedgerAccount.Receivable).Sum(line => line.Pence),
        -entry.Lines.Sum(line => line.Minutes),
        AccountWords.Of(entry, entry.PaymentId is { } id ? payments[id] : null, facts))
    {
        LessonId = entry.LessonId,
        PaymentId = entry.PaymentId,
    };
}
