using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>Cash that an instructor hands in.</summary>
internal sealed record HandInInput
{
    [Needed]
    public Guid? InstructorId { get; init; }

    /// <summary>What was counted.</summary>
    [Needed, Between(0, Core.Accounts.Pence.Most)]
    public long? Pence { get; init; }
}

/// <summary>Takes in the cash of an instructor: counted, and a difference to what should be there is written down.</summary>
internal sealed class HandInCash(SchoolDb db, BookShelf shelf, Ledger ledger, InstructorBook instructors, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<Entry>> RunAsync(Viewer viewer, HandInInput input, CancellationToken cancel) => db.InTransactionAsync<Entry>(
        async cancel =>
        {
            if (await shelf.FindAsync(cancel) is not { } book)
            {
                return BookShelf.NotOpen;
            }

            await db.LockAsync([BookShelf.LockOf(book.Id)], cancel);
            var holder = input.InstructorId is { } id ? await instructors.FindAsync(id, cancel) : null;
            var errors = new FieldErrors();
            errors.When(holder is null, nameof(input.InstructorId), "Choose who hands it in.")
                .When(input.Pence is null or < 0 or > Pence.Most, nameof(input.Pence), "Enter what was counted.");
            if (errors.ToRefusal() is { } wrong)
            {
                return wrong;
            }

            var (who, counted) = (holder!.Id, input.Pence!.Value);
            var held = await db.Set<EntryLine>().Where(l => l.Account == LedgerAccount.Cash && l.HolderId == who).SumAsync(l => l.Pence, cancel);
            var today = (await school.GetAsync(cancel)).Today(clock);
            if (ledger.Post(book, viewer, EntryKind.HandedIn, today, null, Postings.HandedIn(who, held, counted)) is not { } entry)
            {
                return Refusal.Rule("no_cash", "This instructor holds no cash, and none was counted.");
            }

            audit.Note(viewer, "cash.hand-in", who, $"Took in {ScreenWords.Money(counted)} of cash{(counted == held ? "" : $"; {ScreenWords.Money(held)} should have been there")}.");
            return entry;
        },
        cancel);
}
