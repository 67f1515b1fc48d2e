using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Core.Diary.Charges;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>A version of the terms.</summary>
internal sealed record TermsJson(int Number, string Text, bool NamesFees, Instant WrittenAt)
{
    public static TermsJson Of(Terms terms) => new(terms.Number, terms.Text, terms.NamesFees, terms.WrittenAt);
}

/// <summary>The newest version is accepted.</summary>
internal sealed record AcceptRequest([property: Between(1, 1_000_000)] int Number);

internal sealed record AcceptedJson(Guid PupilId, int Number, Instant At, bool ByThemselves)
{
    public static AcceptedJson Of(TermsAccepted accepted) => new(accepted.PupilId, accepted.Number, accepted.At, accepted.ByThemselves);
}

/// <summary>What is asked for lessons that do not take place, from a day on.</summary>
internal sealed record FeePolicyJson(Guid Id, LocalDate From, int LatePercent, int LateMovePercent, int MissedPercent, int FreeAYear, bool NeedsReminder)
{
    public static FeePolicyJson Of(FeeRow row) => new(row.Id, row.From, row.LatePercent, row.LateMovePercent, row.MissedPercent, row.FreeAYear, row.NeedsReminder);
}

/// <summary>What became of the fee for a lesson. <c>percent</c> of its price is asked; <c>reason</c> says why that, or why nothing.</summary>
internal sealed record DecidedFeeJson(Guid Id, Guid LessonId, Instant At, ChargeCode Code, FeeReason Reason, int Percent, Instant? WaivedAt, string WaivedBecause, bool TakenBack)
{
    public static DecidedFeeJson Of(DecidedFee fee) => new(
        fee.Id, fee.LessonId, fee.At, fee.Code, fee.Reason, fee.Percent, fee.WaivedAt, fee.WaivedBecause, fee.TakenBack);
}

internal sealed record HandedInJson(Guid Id, LocalDate On, long Pence, long DifferencePence);

internal static class TermsEndpoints
{
    public static void MapTermsEndpoints(this IEndpointRouteBuilder app)
    {
        var terms = app.MapApi("terms").WithTags("accounts");
        terms.MapGet("", NewestAsync).Needs(Permission.ReadAccount).WithName("GetTerms").WithSummary("The newest version of the terms.").Produces<TermsJson>().ProducesProblem(404);
        terms.MapGet("{number:int}", GetAsync).Needs(Permission.ReadAccount).WithName("GetVersionOfTerms").WithSummary("A version of the terms, also one that no longer stands.").Produces<TermsJson>().ProducesProblem(404);
        terms.MapPost("", WriteAsync).Needs(Permission.KeepBooks).WithIdempotency().WithName("WriteTerms")
            .WithSummary("Writes the next version of the terms; it has to be accepted anew.").Produces<TermsJson>(201).ProducesProblem(400);
        var fees = app.MapApi("fees").WithTags("accounts");
        fees.MapGet("", FeesAsync).Needs(Permission.KeepBooks).WithName("ListFees").WithSummary("What is asked for lessons that do not take place: present, past and to come.")
            .Produces<Page<FeePolicyJson>>().ProducesProblem(400);
        fees.MapGet("{id:guid}", GetFeesAsync).Needs(Permission.KeepBooks).WithName("GetFees").WithSummary("What was asked from one day on.").Produces<FeePolicyJson>().ProducesProblem(404);
        fees.MapPost("", ChangeAsync).Needs(Permission.KeepBooks).WithIdempotency().WithName("ChangeFees")
            .WithSummary("Sets what is asked for lessons that do not take place, from a day on. 422 books_not_open.").Produces<FeePolicyJson>(201).ProducesProblem(400).ProducesProblem(422);
        app.MapApi("cash").WithTags("accounts").MapPost("", HandInAsync).Needs(Permission.KeepBooks).WithIdempotency().WithName("HandInCash")
            .WithSummary("Takes in the cash of an instructor as counted; the difference to what should be there is written down. 422 no_cash, books_not_open.")
            .Produces<HandedInJson>().ProducesProblem(400).ProducesProblem(422);
        var pupils = app.MapApi("pupils/{id:guid}").WithTags("accounts");
        pupils.MapPost("terms", AcceptAsync).Needs(Permission.AcceptTerms).OfPupil(Sight.ByReason).WithIdempotency().WithName("AcceptTerms")
            .WithSummary("The pupil accepts the newest terms, or staff note that they did. 422 terms_changed where the number is not the newest.")
            .Produces<AcceptedJson>().ProducesProblem(404).ProducesProblem(422);
        pupils.MapPost("fees/{feeId:guid}/waive", WaiveAsync).Needs(Permission.KeepBooks).OfPupil(Sight.ByReason).WithIdempotency().WithName("WaiveFee")
            .WithSummary("Lets a fee pass that was asked for, with a reason; prepaid hours that it took come back. 422 fee_not_standing. If-Match is honoured when sent.")
            .Produces<DecidedFeeJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422);
    }

    private static async Task<IResult> NewestAsync(TermsBook book, CancellationToken cancel) =>
        await book.NewestAsync(cancel) is { } terms ? Results.Ok(TermsJson.Of(terms)) : Refusal.NotFound("version of the terms").ToProblem();

    private static async Task<IResult> GetAsync(int number, TermsBook book, CancellationToken cancel) =>
        await book.FindAsync(number, cancel) is { } terms ? Results.Ok(TermsJson.Of(terms)) : Refusal.NotFound("version of the terms").ToProblem();

    private static async Task<IResult> GetFeesAsync(Guid id, BookShelf shelf, CancellationToken cancel) =>
        (await shelf.FindAsync(cancel))?.Fees.Find(row => row.Id == id) is { } row ? Results.Ok(FeePolicyJson.Of(row)) : Refusal.NotFound("policy").ToProblem();

    private static async Task<IResult> WriteAsync(TermsInput input, WriteTerms write, Viewer viewer, CancellationToken cancel) =>
        (await write.RunAsync(viewer, input, cancel)).ToResult(terms => Results.Created($"{ApiSetup.Prefix}/terms/{terms.Number}", TermsJson.Of(terms)));

    private static async Task<IResult> FeesAsync(BookShelf shelf, int? limit, string? cursor, CancellationToken cancel) =>
        (await shelf.FindAsync(cancel) is { } book ? book.Fees.OrderBy(row => row.Id).Select(FeePolicyJson.Of).ToList() : [])
        .PageOf(limit, cursor, fee => fee.Id.ToString()).ToResult();

    private static async Task<IResult> ChangeAsync(FeeInput input, ChangeFees change, Viewer viewer, CancellationToken cancel) =>
        (await change.RunAsync(viewer, input, cancel)).ToResult(row => Results.Created($"{ApiSetup.Prefix}/fees/{row.Id}", FeePolicyJson.Of(row)));

    private static async Task<IResult> HandInAsync(HandInInput input, HandInCash handIn, Viewer viewer, CancellationToken cancel) =>
        (await handIn.RunAsync(viewer, input, cancel)).ToResult(entry => Results.Ok(
            new HandedInJson(entry.Id, entry.On, input.Pence!.Value, -entry.Lines.Where(line => line.Account == LedgerAccount.WriteOff).Sum(line => line.Pence))));

    private static async Task<IResult> AcceptAsync(Guid id, AcceptRequest request, AcceptTerms accept, Viewer viewer, CancellationToken cancel) =>
        (await accept.RunAsync(viewer, id, request.Number, cancel)).ToResult(accepted => Results.Ok(AcceptedJson.Of(accepted)));

    private static async Task<IResult> WaiveAsync(Guid id, Guid feeId, WaiveInput input, HttpContext context, WaiveFee waive, Viewer viewer, CancellationToken cancel) =>
        (await waive.RunAsync(viewer, id, feeId, input, ETags.Wanted(context), cancel)).ToRow(context, DecidedFeeJson.Of);
}
