using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>With what the books begin: the price of an hour, and what is asked for lessons that do not take place.</summary>
internal sealed record BooksInput
{
    [Needed, Between(0, Pence.Most)]
    public long? PencePerHour { get; init; }

    [Between(0, 100)]
    public int LatePercent { get; init; } = 100;

    [Between(0, 100)]
    public int LateMovePercent { get; init; }

    [Between(0, 100)]
    public int MissedPercent { get; init; } = 100;

    [Between(0, FeePolicy.MostFree)]
    public int FreeAYear { get; init; } = 1;

    public bool NeedsReminder { get; init; } = true;

    /// <summary>Registered for VAT from this day on; leave out where the school is not.</summary>
    public LocalDate? VatFrom { get; init; }

    public RefundRule RefundRule { get; init; } = RefundRule.ProRata;

    public Refusal? Wrong(LocalDate today)
    {
        var errors = new FieldErrors();
        errors.When(PencePerHour is null, nameof(PencePerHour), "Enter what an hour costs, such as 36.")
            .When(PencePerHour is < 0 or > Pence.Most, nameof(PencePerHour), "Enter a price from nothing to £100,000.")
            .When(VatFrom > today, nameof(VatFrom), "Enter the day once it has come.")
            .When(VatFrom < new LocalDate(2011, 1, 4), nameof(VatFrom), "The rate of today holds since 4 January 2011. Enter a later day.");
        FeeInput.Check(errors, LatePercent, LateMovePercent, MissedPercent, FreeAYear);
        return errors.ToRefusal();
    }
}

/// <summary>Opens the school's books: from today on lessons, payments and fees are posted.</summary>
internal sealed class OpenBooks(SchoolDb db, BookShelf shelf, SchoolInfo school, Audit audit, IClock clock)
{
    private static readonly Refusal Already = Refusal.Conflict("books_open_already", "The books are open already.").CuredOn("/accounts");

    public Task<Outcome<Book>> RunAsync(Viewer viewer, BooksInput input, CancellationToken cancel) => db.InTransactionAsync<Book>(
        async cancel =>
        {
            await db.LockAsync(["books"], cancel);
            if (await shelf.FindAsync(cancel) is not null)
            {
                return Already;
            }

            var (today, now) = ((await school.GetAsync(cancel)).Today(clock), clock.GetCurrentInstant());
            if (input.Wrong(today) is { } wrong)
            {
                return wrong;
            }

            var book = new Book { Currency = Book.Pounds, OpenedOn = today, VatFrom = input.VatFrom, RefundRule = input.RefundRule };
            // What is booked already was booked at this price.
            book.Prices.Add(new() { BookId = book.Id, BookedFrom = PriceRow.Always, Pence = input.PencePerHour, Minutes = 60, AddedAt = now });
            book.Fees.Add(new()
            {
                BookId = book.Id,
                From = today,
                LatePercent = input.LatePercent,
                LateMovePercent = input.LateMovePercent,
                MissedPercent = input.MissedPercent,
                FreeAYear = input.FreeAYear,
                NeedsReminder = input.NeedsReminder,
                AddedAt = now,
            });
            audit.Note(viewer, "books.open", book.Id, "Opened the school’s books.");
            return db.Add(book).Entity;
        },
        cancel);
}
