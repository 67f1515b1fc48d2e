using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>
/// Posts each lesson once, however often it is written down: what stands already and says the same stays, anything else is undone and posted anew. What
/// is before the books were opened is left alone.
/// </summary>
internal sealed class LessonAccounts(SchoolDb db, BookShelf shelf, Ledger ledger, FeeRules fees, LessonPricing pricing, OwnPupils own, AccountLetters letters, SchoolInfo school, IClock clock) : ILessonCharges
{
    public async Task TaughtAsync(LessonToCharge lesson, Viewer viewer, CancellationToken cancel)
    {
        if (await OpenForAsync(lesson, cancel) is { } book)
        {
            await PostAsync(book, lesson, EntryKind.Lesson, 100, viewer, cancel);
        }
    }

    public async Task<bool?> DecidedAsync(DecidedCharge decided, Viewer viewer, CancellationToken cancel)
    {
        if (!decided.Charge.Chargeable || await OpenForAsync(decided.Lesson, cancel) is not { } book)
        {
            return null;
        }

        await ledger.LockAsync(decided.PupilId, cancel);
        var price = await pricing.OfAsync(book, decided.Lesson, cancel);
        var fee = await fees.DecideAsync(book, decided, price is not null, cancel);
        var entry = fee.Percent == 0 ? null : await PostAsync(book, decided.Lesson, KindOf(decided.Charge.Code), fee.Percent, viewer, cancel);
        db.Add(new DecidedFee
        {
            LessonId = decided.LessonId,
            PupilId = decided.PupilId,
            At = clock.GetCurrentInstant(),
            LessonStartsAt = decided.Lesson.StartsAt,
            Code = decided.Charge.Code,
            Reason = fee.Reason,
            Percent = fee.Percent,
            EntryId = entry?.Id,
        });
        return entry is not null;
    }

    public async Task TakenBackAsync(Guid lessonId, Viewer viewer, CancellationToken cancel)
    {
        foreach (var fee in await db.Set<DecidedFee>().Where(f => f.LessonId == lessonId && f.Code == ChargeCode.Missed && !f.TakenBack).ToListAsync(cancel))
        {
            fee.TakenBack = true;
        }
    }

    public async Task<ChargeAmount?> AmountAsync(DecidedCharge decided, Viewer viewer, CancellationToken cancel)
    {
        if (!decided.Charge.Chargeable || await OpenForAsync(decided.Lesson, cancel) is not { } book)
        {
            return null;
        }

        var price = await pricing.OfAsync(book, decided.Lesson, cancel);
        var fee = await fees.DecideAsync(book, decided, price is not null, cancel);
        var pence = price is null ? 0 : Pence.Share(price.Pence, fee.Percent, 100);
        if (!viewer.May(Permission.ReadAccount) || await own.RefuseUnseenAsync(viewer, decided.PupilId, cancel) is not null)
        {
            return new(pence, 0, book.Currency, FeeWords.WithoutAccount(fee, pence, viewer.Towards(decided.PupilId).Reader));
        }

        var minutes = Share(decided.Lesson.Minutes, fee.Percent);
        var prepaid = (await TakeAsync(decided.PupilId, minutes, null, cancel)).Sum(part => part.Minutes);
        var owed = minutes == 0 ? pence : Pence.Share(pence, minutes - prepaid, minutes);
        return new(owed, prepaid, book.Currency, FeeWords.Beforehand(fee, owed, prepaid, viewer.Towards(decided.PupilId).Reader));
    }

    private static EntryKind KindOf(ChargeCode code) => code switch
    {
        ChargeCode.LateMove => EntryKind.LateMove,
        ChargeCode.Missed => EntryKind.Missed,
        _ => EntryKind.LateCancellation,
    };

    private static LedgerAccount IncomeOf(EntryKind kind) => kind switch
    {
        EntryKind.Lesson => LedgerAccount.LessonIncome,
        EntryKind.Missed => LedgerAccount.MissedIncome,
        _ => LedgerAccount.LateIncome,
    };

    private static int Share(int minutes, int percent) => minutes * percent / 100;

    private async Task<Book?> OpenForAsync(LessonToCharge lesson, CancellationToken cancel) =>
        await shelf.FindAsync(cancel) is { } book && DayOf(lesson.StartsAt, await school.GetAsync(cancel)) >= book.OpenedOn ? book : null;

    private static LocalDate DayOf(Instant at, SchoolFacts facts) => at.InZone(facts.Zone).Date;

    private async Task<Entry?> PostAsync(Book book, LessonToCharge lesson, EntryKind kind, int percent, Viewer viewer, CancellationToken cancel)
    {
        await ledger.LockAsync(lesson.PupilId, cancel);
        var price = await pricing.OfAsync(book, lesson, cancel);
        var (gross, minutes) = (price is null ? 0 : Pence.Share(price.Pence, percent, 100), Share(lesson.Minutes, percent));
        var posted = await db.Set<Entry>().AsNoTracking().Include(e => e.Lines).Where(e => e.LessonId == lesson.LessonId).ToListAsync(cancel);
        var undone = posted.Select(entry => entry.ReversesId).OfType<Guid>().ToHashSet();
        // Each late move is asked for by itself; a lesson that was taught or missed in the end is so besides.
        var standing = kind is EntryKind.LateMove ? null
            : posted.SingleOrDefault(entry => entry.Kind is not (EntryKind.LateMove or EntryKind.Reversal) && !undone.Contains(entry.Id));
        if (standing is not null && (standing.Kind, standing.LessonMinutes, standing.LessonPence) == (kind, minutes, gross))
        {
            return standing;
        }

        var (turn, on) = (posted.Count, DayOf(lesson.StartsAt, await school.GetAsync(cancel)));
        if (standing is not null)
        {
            ledger.Post(book, viewer, EntryKind.Reversal, on, lesson.PupilId, standing.Journal()!.Reversed(), made => standing.Undone(made, ++turn));
        }

        var taken = await TakeAsync(lesson.PupilId, minutes, standing, cancel);
        await TellFewAsync(lesson.PupilId, standing is null ? taken.Sum(part => part.Minutes) : 0, cancel);
        return ledger.Post(book, viewer, kind, on, lesson.PupilId, Postings.Supply(IncomeOf(kind), lesson.PupilId, gross, minutes, taken, book.VatOn(on)), made => new()
        {
            Id = made.Id,
            BookId = made.BookId,
            On = made.On,
            At = made.At,
            Kind = made.Kind,
            PostedBy = made.PostedBy,
            PupilId = made.PupilId,
            LessonId = lesson.LessonId,
            Turn = ++turn,
            LessonStartsAt = lesson.StartsAt,
            LessonMinutes = minutes,
            LessonPence = gross,
            PriceId = price?.RuleId,
        });
    }

    /// <summary>Told once, by the taking after which few are left, and once more when they are used up.</summary>
    private async Task TellFewAsync(Guid pupilId, int taken, CancellationToken cancel)
    {
        if (taken == 0)
        {
            return;
        }

        var before = (await ledger.BlocksAsync(pupilId, cancel)).Sum(block => block.Left.MinutesLeft);
        var left = before - taken;
        if (left == 0 || (left <= AccountLetters.FewMinutes && before > AccountLetters.FewMinutes))
        {
            await letters.HoursLowAsync(pupilId, left, cancel);
        }
    }

    /// <summary>From the blocks as they are once what stands is undone.</summary>
    private async Task<IReadOnlyList<Taking>> TakeAsync(Guid pupilId, int minutes, Entry? standing, CancellationToken cancel)
    {
        if (minutes == 0)
        {
            return [];
        }

        var back = (standing?.Lines ?? []).Where(line => line.BlockId is not null).ToLookup(line => line.BlockId!.Value);
        return PrepaidBlock.Take(
            (await ledger.BlocksAsync(pupilId, cancel)).Select(block => block.Left with
            {
                MinutesUsed = block.Left.MinutesUsed - back[block.Row.Id].Sum(line => line.Minutes),
                PenceUsed = block.Left.PenceUsed - back[block.Row.Id].Sum(line => line.Pence),
            }),
            minutes);
    }
}
