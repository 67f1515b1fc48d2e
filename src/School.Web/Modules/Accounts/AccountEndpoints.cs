using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>What a pupil owes and has left. <c>owedPence</c> is negative where the school holds money of theirs.</summary>
internal sealed record AccountJson(
    Guid PupilId, long OwedPence, string Currency, int MinutesLeft, string Reference, IReadOnlyList<PrepaidBlockJson> Blocks, IReadOnlyList<AccountItemJson> Items, bool More, IReadOnlyList<DecidedFeeJson> Fees)
{
    public static AccountJson Of(Guid pupilId, PupilAccount account) => new(
        pupilId, account.OwedPence, account.Book.Currency, account.MinutesLeft, account.Reference, [.. account.Blocks.Select(PrepaidBlockJson.Of)],
        [.. account.Items.Select(item => new AccountItemJson(item.Id, item.On, item.Kind, item.Pence, item.Minutes, item.Words))], account.More,
        [.. account.Fees.Select(DecidedFeeJson.Of)]);
}

/// <summary>Prepaid hours, and what is given back for the rest of them today.</summary>
internal sealed record PrepaidBlockJson(Guid Id, LocalDate SoldOn, int Minutes, int MinutesLeft, long Pence, RefundJson Refund)
{
    public static PrepaidBlockJson Of(BlockLeft block) => new(
        block.Row.Id, block.Row.SoldOn, block.Row.Minutes, block.MinutesLeft, block.Row.Pence,
        new(block.MinutesLeft == 0 ? 0 : block.Refund.Pence, block.Refund.Ground));
}

internal sealed record RefundJson(long Pence, RefundGround Ground);

internal sealed record AccountItemJson(Guid Id, LocalDate On, EntryKind Kind, long Pence, int Minutes, string Sentence);

/// <summary>A receipt. <c>pence</c> is negative for what was paid back.</summary>
internal sealed record PaymentJson(Guid Id, int Number, Guid PupilId, long Pence, string Currency, PaymentMethod Method, LocalDate PaidOn, string Reference)
{
    public static PaymentJson Of(Payment payment) => new(
        payment.Id, payment.Number, payment.PupilId, payment.Pence, Book.Pounds, payment.Method, payment.PaidOn, payment.Reference);
}

/// <summary>A payment of a pupil, or to one with <c>back</c>.</summary>
internal sealed record PaymentRequest(
    Guid PupilId, [property: Between(1, Pence.Most)] long Pence, PaymentMethod Method, [property: OneOf(Book.Pounds)] string Currency = Book.Pounds, LocalDate? PaidOn = null,
    [property: AtMost(Payment.LongestReference)] string? Reference = null, bool Back = false, bool Again = false);

internal static class AccountEndpoints
{
    public static void MapAccountEndpoints(this IEndpointRouteBuilder app)
    {
        var pupils = app.MapApi("pupils/{id:guid}").WithTags("accounts");
        pupils.MapGet("account", GetAsync).Needs(Permission.ReadAccount).OfPupil(Sight.ByReason).WithName("GetAccount")
            .WithSummary("What a pupil owes, prepaid hours and what led there, the latest first; to the pupil, the staff, and somebody beside them who may see it. 422 books_not_open before money is kept.")
            .Produces<AccountJson>().ProducesProblem(404).ProducesProblem(422);
        pupils.MapPost("blocks", SellAsync).Needs(Permission.TakeMoney).OfPupil(Sight.ByReason).WithIdempotency().WithName("SellBlock")
            .WithSummary("Sells prepaid hours: owed at once, used from the oldest. With fromBefore, hours paid for before the books were opened: 403 not_your_books for who does not keep them.")
            .Produces<PrepaidBlockJson>(201).ProducesProblem(400).ProducesProblem(403).ProducesProblem(404).ProducesProblem(422);
        pupils.MapPost("blocks/{blockId:guid}/give-back", GiveBackAsync).Needs(Permission.KeepBooks).OfPupil(Sight.ByReason).WithIdempotency().WithName("GiveBackBlock")
            .WithSummary("Gives back the rest of prepaid hours as money that the school owes; pence is what the account told, else 422 refund_changed. 422 block_used_up.")
            .Produces<AccountJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        pupils.MapPost("due", TellAsync).Needs(Permission.TakeMoney).OfPupil(Sight.ByReason).WithIdempotency().WithName("TellDue")
            .WithSummary("Writes the pupil what is to be paid by transfer, with the reference; the same amount once a day. 422 nothing_due, books_not_open.").Produces<DueTold>().ProducesProblem(404).ProducesProblem(422);
        pupils.MapPost("write-offs", WriteOffAsync).Needs(Permission.KeepBooks).OfPupil(Sight.ByReason).WithIdempotency().WithName("WriteOff")
            .WithSummary("Gives up what a pupil owes, with a reason.").Produces<AccountJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        pupils.MapGet("blocks/{blockId:guid}", GetBlockAsync).Needs(Permission.ReadAccount).OfPupil(Sight.ByReason).WithName("GetBlock")
            .WithSummary("Prepaid hours: what is left of them, and what is given back for the rest today.").Produces<PrepaidBlockJson>().ProducesProblem(404);
        var payments = app.MapApi("payments").WithTags("accounts");
        payments.MapGet("{id:guid}", GetPaymentAsync).Needs(Permission.ReadAccount).WithName("GetPayment")
            .WithSummary("A receipt; to the pupil, the staff who see the pupil, and somebody beside them who may see it.").Produces<PaymentJson>().ProducesProblem(403).ProducesProblem(404);
        payments.MapPost("", PayAsync).Needs(Permission.TakeMoney).WithIdempotency().WithName("TakePayment")
            .WithSummary("Takes a payment of a pupil, or pays back what the school holds (back; 403 not_your_books for who does not keep the books). 409 already_taken where the same stands on that day (again says that it is another); 422 more_than_held.")
            .Produces<PaymentJson>(201).ProducesProblem(400).ProducesProblem(403).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
    }

    private static async Task<IResult> GetAsync(Guid id, PupilBook pupils, BesideBook beside, AccountReader reader, Viewer viewer, CancellationToken cancel) =>
        await MaySeeAsync(id, pupils, beside, viewer, cancel) ? await ReadAsync(id, reader, cancel) : Refusal.NotFound("pupil").ToProblem();

    /// <summary>Their own, as staff, or beside them where they allow it.</summary>
    internal static async Task<bool> MaySeeAsync(Guid id, PupilBook pupils, BesideBook beside, Viewer viewer, CancellationToken cancel) =>
        viewer.PupilId == id
        || (viewer.May(Permission.TakeMoney) && (await pupils.CardsAsync([id], cancel)).Count > 0)
        || await beside.FindAsync(viewer, id, cancel) is { Money: true };

    private static async Task<IResult> GetBlockAsync(Guid id, Guid blockId, PupilBook pupils, BesideBook beside, AccountReader reader, Viewer viewer, CancellationToken cancel) =>
        await MaySeeAsync(id, pupils, beside, viewer, cancel) && (await reader.FindAsync(id, 1, cancel))?.Blocks.FirstOrDefault(block => block.Row.Id == blockId) is { } block
            ? Results.Ok(PrepaidBlockJson.Of(block)) : Refusal.NotFound("block").ToProblem();

    private static async Task<IResult> GetPaymentAsync(
        Guid id, PupilBook pupils, OwnPupils own, BesideBook beside, AccountReader reader, Viewer viewer, CancellationToken cancel) =>
        await reader.PaymentAsync(id, cancel) is not { } payment || !await MaySeeAsync(payment.PupilId, pupils, beside, viewer, cancel) ? Refusal.NotFound("payment").ToProblem()
        : await own.RefuseUnseenAsync(viewer, payment.PupilId, cancel) is { } unseen ? unseen.ToProblem()
        : Results.Ok(PaymentJson.Of(payment));

    private static async Task<IResult> SellAsync(Guid id, BlockInput input, SellBlock sell, AccountReader reader, Viewer viewer, CancellationToken cancel)
    {
        var sold = await sell.RunAsync(viewer, id, input, cancel);
        return sold.Ok
            ? Results.Created($"{ApiSetup.Prefix}/pupils/{id}/blocks/{sold.Value.Id}", PrepaidBlockJson.Of((await reader.FindAsync(id, 1, cancel))!.Blocks.First(block => block.Row.Id == sold.Value.Id)))
            : sold.Refusal.ToProblem();
    }

    private static async Task<IResult> GiveBackAsync(Guid id, Guid blockId, GiveBackInput input, GiveBackBlock giveBack, AccountReader reader, Viewer viewer, CancellationToken cancel) =>
        await giveBack.RunAsync(viewer, id, blockId, input, cancel) is { Ok: false, Refusal: var refusal } ? refusal.ToProblem() : await ReadAsync(id, reader, cancel);

    private static async Task<IResult> TellAsync(Guid id, TellDue tell, Viewer viewer, CancellationToken cancel) =>
        (await tell.RunAsync(viewer, id, cancel)).ToResult(told => Results.Ok(told));

    private static async Task<IResult> WriteOffAsync(Guid id, WriteOffInput input, WriteOff writeOff, AccountReader reader, Viewer viewer, CancellationToken cancel) =>
        await writeOff.RunAsync(viewer, id, input, cancel) is { Ok: false, Refusal: var refusal } ? refusal.ToProblem() : await ReadAsync(id, reader, cancel);

    private static async Task<IResult> PayAsync(PaymentRequest request, TakePayment take, Viewer viewer, CancellationToken cancel)
    {
        if (request.Currency != Book.Pounds)
        {
            return Refusal.Invalid(nameof(request.Currency), "These books are kept in GBP.").ToProblem();
        }

        var taken = await take.RunAsync(
            viewer, request.PupilId,
            new() { Pence = request.Pence, Method = request.Method, PaidOn = request.PaidOn, Reference = request.Reference, Back = request.Back, Again = request.Again }, cancel);
        return taken.ToResult(payment => Results.Created($"{ApiSetup.Prefix}/payments/{payment.Id}", PaymentJson.Of(payment)));
    }

    private static async Task<IResult> ReadAsync(Guid id, AccountReader reader, CancellationToken cancel) =>
        await reader.FindAsync(id, 1, cancel) is { } account ? Results.Ok(AccountJson.Of(id, account)) : BookShelf.NotOpen.ToProblem();
}
