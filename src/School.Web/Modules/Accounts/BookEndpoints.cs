using System.Globalization;
using System.Text;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>A set of books.</summary>
internal sealed record BookJson(Guid Id, Guid? InstructorId, string Currency, LocalDate OpenedOn, LocalDate? VatFrom, Core.Accounts.RefundRule RefundRule)
{
    public static BookJson Of(Book book) => new(book.Id, book.InstructorId, book.Currency, book.OpenedOn, book.VatFrom, book.RefundRule);
}

/// <summary>A line of the price list; no <c>pence</c> ends the price for such lessons.</summary>
internal sealed record PriceJson(
    Guid Id, LocalDate BookedFrom, long? Pence, int Minutes, bool OnlyThisLength, LessonKind? Kind, Gearbox? Gearbox, Guid? InstructorId, int? Days,
    [property: Form(FormAttribute.HourMinute)] string? From, [property: Form(FormAttribute.HourMinute)] string? Until)
{
    public static PriceJson Of(PriceRow row) => new(
        row.Id, row.BookedFrom, row.Pence, row.Minutes, row.OnlyThisLength, row.Kind, row.Gearbox, row.InstructorId, row.Days,
        row.From is { } from ? PriceRequest.HourMinute.Format(from) : null, row.Until is { } until ? PriceRequest.HourMinute.Format(until) : null);
}

/// <summary>A price to be added; times of day as HH:MM.</summary>
internal sealed record PriceRequest(
    [property: Between(0, Core.Accounts.Pence.Most)] long? Pence = null, LocalDate? BookedFrom = null, [property: Between(15, 480)] int Minutes = 60, bool OnlyThisLength = false, LessonKind? Kind = null,
    Gearbox? Gearbox = null, Guid? InstructorId = null, [property: Between(1, Core.Accounts.PriceHours.AllDays)] int? Days = null,
    [property: Form(FormAttribute.HourMinute)] string? From = null, [property: Form(FormAttribute.HourMinute)] string? Until = null)
{
    public static readonly LocalTimePattern HourMinute = LocalTimePattern.CreateWithInvariantCulture("HH:mm");

    public Outcome<PriceInput> Read()
    {
        var (from, until) = (HourMinute.Parse(From ?? "00:00"), HourMinute.Parse(Until ?? "00:00"));
        const string Wrong = "Give a time such as 17:00.";
        var errors = new FieldErrors().When(!from.Success, nameof(From), Wrong).When(!until.Success, nameof(Until), Wrong);
        return errors.ToRefusal() is { } refusal ? refusal : new PriceInput
        {
            Pence = Pence,
            BookedFrom = BookedFrom,
            Minutes = Minutes,
            OnlyThisLength = OnlyThisLength,
            Kind = Kind,
            Gearbox = Gearbox,
            InstructorId = InstructorId,
            Days = Days,
            From = From is null ? null : from.Value,
            Until = Until is null ? null : until.Value,
        };
    }
}

internal sealed record TrialBalanceJson(Guid BookId, string Currency, LocalDate At, IReadOnlyList<BalanceJson> Accounts, long DifferencePence);

internal sealed record BalanceJson(string Code, string Name, long DebitPence, long CreditPence);

/// <summary>An entry of the journal. Debits are positive; the lines come to nought.</summary>
internal sealed record EntryJson(Guid Id, LocalDate On, Instant At, EntryKind Kind, Guid? PupilId, Guid? LessonId, Guid? ReversesId, IReadOnlyList<EntryLineJson> Lines)
{
    public static EntryJson Of(Entry entry) => new(
        entry.Id, entry.On, entry.At, entry.Kind, entry.PupilId, entry.LessonId, entry.ReversesId,
        [.. entry.Lines.OrderBy(line => line.Id).Select(line => new EntryLineJson(TrialBalance.CodeOf(line.Account), line.Pence, line.PupilId, line.BlockId, line.HolderId, line.Minutes))]);
}

internal sealed record EntryLineJson(string Account, long Pence, Guid? PupilId, Guid? BlockId, Guid? HolderId, int Minutes);

internal static class BookEndpoints
{
    public static void MapBookEndpoints(this IEndpointRouteBuilder app)
    {
        var books = app.MapApi("books").WithTags("accounts");
        books.MapGet("", ListAsync).Needs(Permission.KeepBooks).WithName("ListBooks").WithSummary("The sets of books; none until they are opened.").Produces<Page<BookJson>>().ProducesProblem(400);
        books.MapGet("{id:guid}", GetAsync).Needs(Permission.KeepBooks).WithName("GetBooks").WithSummary("One set of books.").Produces<BookJson>().ProducesProblem(404);
        books.MapPost("", OpenAsync).Needs(Permission.KeepBooks).WithIdempotency().WithName("OpenBooks")
            .WithSummary("Opens the school’s books: from today on lessons, payments and fees are posted. 409 books_open_already.")
            .Produces<BookJson>(201).ProducesProblem(400).ProducesProblem(409);
        var prices = app.MapApi("prices").WithTags("accounts");
        prices.MapGet("", PricesAsync).Needs(Permission.KeepBooks).WithName("ListPrices").WithSummary("The price list, present, past and to come.").Produces<Page<PriceJson>>().ProducesProblem(400);
        prices.MapGet("{id:guid}", GetPriceAsync).Needs(Permission.KeepBooks).WithName("GetPrice").WithSummary("One line of the price list.").Produces<PriceJson>().ProducesProblem(404);
        prices.MapPost("", AddPriceAsync).Needs(Permission.KeepBooks).WithIdempotency().WithName("AddPrice")
            .WithSummary("Adds a price for lessons booked from a day on, or ends one where pence is left out. 422 prices_overlap, no_such_price, books_not_open.")
            .Produces<PriceJson>(201).ProducesProblem(400).ProducesProblem(422);
        app.MapApi("reports/trial-balance").WithTags("accounts").MapGet("", BalanceAsync).Needs(Permission.KeepBooks).WithName("GetTrialBalance")
            .WithSummary("What each account comes to at the end of a day, today where none is named; the difference of debits and credits is nought.")
            .Produces<TrialBalanceJson>().ProducesProblem(400).ProducesProblem(422);
        app.MapApi("journal").WithTags("accounts").MapGet("", JournalAsync).Needs(Permission.KeepBooks).WithName("ListJournal")
            .WithSummary("The entries of a period, in the order in which they were posted; with Accept: text/plain all of them, one transaction a block, amounts in pounds.")
            .Produces<Page<EntryJson>>(200, "application/json", "text/plain").ProducesProblem(400).ProducesProblem(422);
    }

    private static async Task<IResult> ListAsync(BookShelf shelf, int? limit, string? cursor, CancellationToken cancel) =>
        ((IReadOnlyList<BookJson>)(await shelf.FindAsync(cancel) is { } book ? [BookJson.Of(book)] : [])).PageOf(limit, cursor, book => book.Id.ToString()).ToResult();

    private static async Task<IResult> GetAsync(Guid id, BookShelf shelf, CancellationToken cancel) =>
        await shelf.FindAsync(cancel) is { } book && book.Id == id ? Results.Ok(BookJson.Of(book)) : Refusal.NotFound("set of books").ToProblem();

    private static async Task<IResult> GetPriceAsync(Guid id, BookShelf shelf, CancellationToken cancel) =>
        (await shelf.FindAsync(cancel))?.Prices.Find(price => price.Id == id) is { } price ? Results.Ok(PriceJson.Of(price)) : Refusal.NotFound("price").ToProblem();

    private static async Task<IResult> OpenAsync(BooksInput input, OpenBooks open, Viewer viewer, CancellationToken cancel) =>
        (await open.RunAsync(viewer, input, cancel)).ToResult(book => Results.Created($"{ApiSetup.Prefix}/books/{book.Id}", BookJson.Of(book)));

    private static async Task<IResult> PricesAsync(BookShelf shelf, int? limit, string? cursor, CancellationToken cancel) =>
        (await shelf.FindAsync(cancel) is { } book ? book.Prices.OrderBy(row => row.Id).Select(PriceJson.Of).ToList() : [])
        .PageOf(limit, cursor, price => price.Id.ToString()).ToResult();

    private static async Task<IResult> AddPriceAsync(PriceRequest request, AddPrice add, Viewer viewer, CancellationToken cancel) =>
        request.Read() is { Ok: false, Refusal: var wrong } ? wrong.ToProblem() : (await add.RunAsync(viewer, request.Read().Value!, cancel)).ToResult(price => Results.Created($"{ApiSetup.Prefix}/prices/{price.Id}", PriceJson.Of(price)));

    private static async Task<IResult> BalanceAsync(QueryDate? at, BookShelf shelf, TrialBalance balance, SchoolInfo school, IClock clock, CancellationToken cancel)
    {
        if (await shelf.FindAsync(cancel) is not { } book)
        {
            return BookShelf.NotOpen.ToProblem();
        }

        var facts = await school.GetAsync(cancel);
        var day = at?.In(facts.Zone) ?? facts.Today(clock);
        var lines = await balance.AtAsync(book.Id, day, cancel);
        return Results.Ok(new TrialBalanceJson(
            book.Id, book.Currency, day, [.. lines.Select(line => new BalanceJson(TrialBalance.CodeOf(line.Account), TrialBalance.NameOf(line.Account), line.Debit, line.Credit))],
            lines.Sum(line => line.Pence)));
    }

    private static async Task<IResult> JournalAsync(
        QueryDate? from, QueryDate? to, int? limit, string? cursor, HttpContext context, BookShelf shelf, TrialBalance balance, SchoolInfo school, IClock clock, CancellationToken cancel)
    {
        if (await shelf.FindAsync(cancel) is not { } book)
        {
            return BookShelf.NotOpen.ToProblem();
        }

        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var entries = balance.Entries(book.Id, from?.In(facts.Zone) ?? today.PlusMonths(-1), to?.In(facts.Zone) ?? today);
        if (context.Request.GetTypedHeaders().Accept.FirstOrDefault()?.MediaType.Value != "text/plain")
        {
            return (await entries.PageOldestAsync(limit, cursor, e => e.Id, EntryJson.Of, cancel)).ToResult();
        }

        var text = new StringBuilder();
        await foreach (var entry in entries.OrderBy(e => e.Id).AsAsyncEnumerable().WithCancellation(cancel))
        {
            Write(text, entry);
        }

        return Results.Text(text.ToString(), "text/plain", Encoding.UTF8);
    }

    private static void Write(StringBuilder text, Entry entry)
    {
        text.Append(CultureInfo.InvariantCulture, $"{entry.On:uuuu-MM-dd} {System.Text.Json.JsonNamingPolicy.SnakeCaseLower.ConvertName(entry.Kind.ToString())} {entry.Id}\n");
        foreach (var line in entry.Lines.OrderBy(line => line.Id))
        {
            var whose = (line.PupilId ?? line.HolderId) is { } id ? $":{id}" : "";
            text.Append(CultureInfo.InvariantCulture, $"    {TrialBalance.CodeOf(line.Account)}{whose}  {line.Pence / 100m:0.00} {Book.Pounds}\n");
        }

        text.Append('\n');
    }
}
