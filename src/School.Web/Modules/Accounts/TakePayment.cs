using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>Money that changes hands.</summary>
internal sealed record PaymentInput
{
    [Needed, Between(1, Core.Accounts.Pence.Most)]
    public long? Pence { get; init; }

    [Needed]
    public PaymentMethod? Method { get; init; }

    /// <summary>Today where it is left out.</summary>
    public LocalDate? PaidOn { get; init; }

    [AtMost(Payment.LongestReference)]
    public string? Reference { get; init; }

    /// <summary>The school pays back.</summary>
    public bool Back { get; init; }

    /// <summary>It is another payment of the same amount on the same day.</summary>
    public bool Again { get; init; }

    /// <summary>The id that a form gave it, so that a press too many takes nothing.</summary>
    public Guid? Id { get; init; }
}

/// <summary>Takes money from a pupil and numbers its receipt, or pays back what the school owes them.</summary>
internal sealed class TakePayment(SchoolDb db, Ledger ledger, MoneyGround ground, AccountLetters letters, Audit audit)
{
    private const int DaysBack = 366;

    public Task<Outcome<Payment>> RunAsync(Viewer viewer, Guid pupilId, PaymentInput input, CancellationToken cancel) => db.InTransactionAsync<Payment>(
        async cancel =>
        {
            await ledger.LockAsync(pupilId, cancel);
            var opened = await ground.OpenAsync(viewer, pupilId, cancel);
            if (!opened.Ok)
            {
                return opened.Refusal;
            }

            if (input.Back && !viewer.May(Permission.KeepBooks))
            {
                return BookShelf.NotTheirs;
            }

            if (input.Id is { } known && await db.Set<Payment>().FindAsync([known], cancel) is { } before)
            {
                return before.PupilId != pupilId ? Refusal.NotFound("payment")
                    : before.Pence == (input.Back ? -input.Pence : input.Pence) && before.Method == input.Method ? before
                    : Refusal.Conflict("payment_taken_otherwise", $"This was taken already as {ScreenWords.Money(Math.Abs(before.Pence))} ({PaymentWords.Of(before.Method)}), receipt {before.Number}. Nothing more was taken.");
            }

            var (book, today) = opened.Value;
            var read = Read(input, book, today);
            if (!read.Ok)
            {
                return read.Refusal;
            }

            var (back, (pence, method, paidOn, reference)) = (input.Back, read.Value);
            if (back && -await ledger.OwedAsync(pupilId, cancel) is var held && pence > held)
            {
                return Refusal.Rule("more_than_held", $"The school holds {ScreenWords.Money(Math.Max(0, held))} for this pupil, and can pay back no more. To pay back prepaid hours, give them back first.");
            }

            var signed = back ? -pence : pence;
            if (!input.Again && await db.Set<Payment>().AnyAsync(p => p.PupilId == pupilId && p.PaidOn == paidOn && p.Method == method && p.Pence == signed, cancel))
            {
                return Refusal.Conflict(
                    "already_taken", $"{ScreenWords.Money(pence)} of this pupil on this day is in the books already. If it is another payment, say so and press again.");
            }

            var owed = await ledger.OwedAsync(pupilId, cancel) - signed;
            if (owed <= 0)
            {
                await letters.NothingDueAsync(pupilId, cancel);
            }

            await db.LockAsync([BookShelf.LockOf(book.Id)], cancel);
            var last = await db.Set<Payment>().Where(p => p.BookId == book.Id).MaxAsync(p => (int?)p.Number, cancel) ?? 0;
            var payment = new Payment
            {
                Id = input.Id ?? RowId.New(),
                BookId = book.Id,
                Number = last + 1,
                PupilId = pupilId,
                Pence = signed,
                Method = method,
                PaidOn = paidOn,
                Reference = reference,
                // Cash stays with who took it until they hand it in.
                HolderId = method == PaymentMethod.Cash ? viewer.InstructorId : null,
                At = ground.Now,
                TakenBy = viewer.Name,
            };
            db.Add(payment);
            ledger.Post(
                book, viewer, back ? EntryKind.PaidBack : EntryKind.Payment, paidOn, pupilId, Postings.Paid(pupilId, payment.Into, payment.HolderId, signed),
                entry => entry.About(paymentId: payment.Id));
            await letters.PaidAsync(payment, owed, cancel);
            audit.Note(viewer, back ? "account.pay-back" : "account.payment", pupilId, $"{(back ? "Paid back" : "Took")} {ScreenWords.Money(pence)} ({PaymentWords.Of(method)}), receipt {payment.Number}.");
            return payment;
        },
        cancel);

    private static Outcome<(long Pence, PaymentMethod Method, LocalDate PaidOn, string Reference)> Read(PaymentInput input, Book book, LocalDate today)
    {
        var errors = new FieldErrors();
        var paidOn = input.PaidOn ?? today;
        errors.When(input.Pence is null, nameof(input.Pence), "Enter how much was paid.")
            .When(input.Pence is < 1 or > Core.Accounts.Pence.Most, nameof(input.Pence), "Enter an amount of more than nothing, up to £100,000.")
            .When(input.Method is null, nameof(input.Method), "Say how it was paid.")
            .When(paidOn > today, nameof(input.PaidOn), "This day is still to come.")
            .When(paidOn < book.OpenedOn, nameof(input.PaidOn), $"The books were opened on {ScreenWords.DayAndYear(book.OpenedOn)}. What was paid before is not in them.")
            .When(paidOn < today.PlusDays(-DaysBack), nameof(input.PaidOn), "This is more than a year ago. Check the year.");
        var reference = errors.ReadLine(nameof(input.Reference), input.Reference, Payment.LongestReference);
        return errors.ToRefusal() is { } wrong ? wrong : (input.Pence!.Value, input.Method!.Value, paidOn, reference);
    }
}

internal static class PaymentWords
{
    public static string Of(PaymentMethod method) => method switch
    {
        PaymentMethod.Cash => "cash",
        PaymentMethod.Transfer => "bank transfer",
        PaymentMethod.Card => "card",
        PaymentMethod.Other => "another way",
    };
}
