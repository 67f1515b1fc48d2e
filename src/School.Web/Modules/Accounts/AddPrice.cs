using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>A price as a form or the API sends it.</summary>
internal sealed record PriceInput
{
    /// <summary>With VAT, in pence; leave out to end the price for such lessons.</summary>
    [Between(0, Core.Accounts.Pence.Most)]
    public long? Pence { get; init; }

    /// <summary>For lessons booked from this day on; today where it is left out.</summary>
    public LocalDate? BookedFrom { get; init; }

    /// <summary>For so many minutes of teaching.</summary>
    [Between(15, 480)]
    public int Minutes { get; init; } = 60;

    /// <summary>Only for lessons of exactly so many minutes.</summary>
    public bool OnlyThisLength { get; init; }

    public LessonKind? Kind { get; init; }

    public Gearbox? Gearbox { get; init; }

    public Guid? InstructorId { get; init; }

    /// <summary>Days of the week on which a lesson begins: one bit for each, Monday 1 to Sunday 64.</summary>
    [Between(1, PriceHours.AllDays)]
    public int? Days { get; init; }

    /// <summary>The first start of day; midnight where only days are given.</summary>
    public LocalTime? From { get; init; }

    /// <summary>The start after the last; midnight for the end of the day.</summary>
    public LocalTime? Until { get; init; }
}

/// <summary>Adds a price to the list. What is booked already keeps its own.</summary>
internal sealed class AddPrice(SchoolDb db, BookShelf shelf, InstructorBook instructors, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<PriceRow>> RunAsync(Viewer viewer, PriceInput input, CancellationToken cancel) => db.InTransactionAsync<PriceRow>(
        async cancel =>
        {
            if (await shelf.FindAsync(cancel) is not { } found)
            {
                return BookShelf.NotOpen;
            }

            await db.LockAsync([BookShelf.LockOf(found.Id)], cancel);
            var book = (await shelf.FindAsync(cancel))!;
            var today = (await school.GetAsync(cancel)).Today(clock);
            var limited = input.Days is not null || input.From is not null || input.Until is not null;
            var (from, until) = (input.From ?? LocalTime.Midnight, input.Until ?? LocalTime.Midnight);
            var row = new PriceRow
            {
                BookId = book.Id,
                BookedFrom = input.BookedFrom ?? today,
                Pence = input.Pence,
                Minutes = input.Minutes,
                OnlyThisLength = input.OnlyThisLength,
                Kind = input.Kind,
                Gearbox = input.Gearbox,
                InstructorId = input.InstructorId,
                Days = limited ? input.Days ?? PriceHours.AllDays : null,
                From = limited ? from : null,
                Until = limited ? until : null,
                AddedAt = clock.GetCurrentInstant(),
            };
            var rule = row.Rule();
            var errors = new FieldErrors();
            errors.When(input.Pence is < 0 or > Core.Accounts.Pence.Most, nameof(input.Pence), "Enter a price from nothing to £100,000.")
                .When(input.Minutes is < 15 or > 480, nameof(input.Minutes), "A price is for 15 to 480 minutes.")
                .When(row.BookedFrom < today, nameof(input.BookedFrom), "A price holds from today on or later: what is booked keeps the price that it was booked at.")
                .When(row.BookedFrom > today.PlusYears(2), nameof(input.BookedFrom), "This is more than two years ahead. Check the year.")
                .When(input.Days is < 1 or > PriceHours.AllDays, nameof(input.Days), "Choose at least one day of the week.")
                .When(limited && until != LocalTime.Midnight && until <= from, nameof(input.Until), "The hours end before they begin.")
                .When(input.InstructorId is { } who && await instructors.FindAsync(who, cancel) is null, nameof(input.InstructorId), "There is no such instructor.");
            if (errors.ToRefusal() is { } wrong)
            {
                return wrong;
            }

            if (book.Prices.Select(price => price.Rule()).FirstOrDefault(other => other.Overlaps(rule) && !Ended(book, other)) is not null)
            {
                return Refusal.Rule("prices_overlap", "There is another price for some of these hours, and nothing says which of them goes before the other. Choose hours that do not overlap.").CuredOn("/accounts/prices");
            }

            if (input.Pence is null && !book.Prices.Exists(price => price.Rule().IsForTheSameAs(rule) && price.Pence is not null))
            {
                return Refusal.Rule("no_such_price", "There is no price for such lessons that could end.").CuredOn("/accounts/prices");
            }

            audit.Note(viewer, "price.add", row.Id, input.Pence is { } pence
                ? $"From {row.BookedFrom:uuuu-MM-dd} on: {PriceWords.Of(row)} cost {Platform.Layout.ScreenWords.Money(pence)}."
                : $"From {row.BookedFrom:uuuu-MM-dd} on: no price of their own for {PriceWords.Of(row)}.");
            return db.Add(row).Entity;
        },
        cancel);

    private static bool Ended(Book book, PriceRule rule) =>
        book.Prices.Select(price => price.Rule()).Where(rule.IsForTheSameAs).OrderByDescending(other => other.BookedFrom).ThenByDescending(other => other.Id).First().Pence is null;
}
