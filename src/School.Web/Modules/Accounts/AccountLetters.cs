using NodaTime;
using School.Core.Accounts;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>Writes the letters about money to a pupil: a receipt, what is to be paid by transfer, and that few prepaid hours are left.</summary>
internal sealed class AccountLetters(Outbox outbox)
{
    public const string Receipt = "payment_receipt";
    public const string Due = "account_due";
    public const string HoursLow = "hours_low";

    /// <summary>So much prepaid teaching or less is few: two lessons of the usual length, common practice, no source.</summary>
    public const int FewMinutes = 120;

    internal const string Amount = "pence";
    internal const string Back = "back";
    internal const string Method = "method";
    internal const string Number = "receipt";
    internal const string PaidOn = "paid_on";
    internal const string Reference = "reference";
    internal const string Owed = "owed";
    internal const string Minutes = "minutes";
    internal const string Open = "open_account";

    private const string OfPupil = "EXISTS (SELECT FROM pupils.pupils p WHERE p.id = m.about_id)";

    private static readonly Act OpenAccount = new(Open, "/accounts/mine");

    public static IReadOnlyList<LetterKind> All { get; } =
    [
        new(Receipt, "EXISTS (SELECT FROM accounts.payments p WHERE p.id = m.about_id)") { IsProof = true },
        new(Due, OfPupil) { IsProof = true },
        new(HoursLow, OfPupil),
    ];

    /// <summary>The receipt of a payment, and what is still to be paid.</summary>
    public Task PaidAsync(Payment payment, long owed, CancellationToken cancel) => outbox.WriteAsync(
        new(
            Receipt, $"{Receipt}:{payment.Id}", payment.Id, Receiver.Pupil(payment.PupilId),
            [
                Fact.Of(Amount, (int)Math.Abs(payment.Pence)), .. payment.Pence < 0 ? [Fact.Of(Back, 1)] : Array.Empty<Fact>(), Fact.Of(Method, PaymentWords.Of(payment.Method)),
                Fact.Of(Number, payment.Number), Fact.Of(PaidOn, payment.PaidOn), Fact.Of(Owed, (int)owed),
            ])
        {
            Acts = [OpenAccount],
        },
        cancel);

    /// <summary>What is to be paid, and the reference by which a transfer is known; the same amount once a day. Whether it is written now.</summary>
    public async Task<bool> DueAsync(Guid pupilId, long owed, LocalDate today, CancellationToken cancel)
    {
        var key = $"{Due}:{pupilId}:{owed}:{today:uuuu-MM-dd}";
        if ((await outbox.WrittenAsync([key], cancel)).Count > 0)
        {
            return false;
        }

        await NothingDueAsync(pupilId, cancel);
        await outbox.WriteAsync(
            new(Due, key, pupilId, Receiver.Pupil(pupilId), [Fact.Of(Owed, (int)owed), Fact.Of(Reference, CreditorReference.Printed(AccountReader.ReferenceOf(pupilId)))])
            {
                Acts = [OpenAccount],
            },
            cancel);
        return true;
    }

    /// <summary>What waits to be sent about a debt that is paid.</summary>
    public Task NothingDueAsync(Guid pupilId, CancellationToken cancel) => outbox.WithdrawAsync(pupilId, [Due], cancel);

    public Task HoursLowAsync(Guid pupilId, int minutes, CancellationToken cancel) => outbox.WriteAsync(
        new(HoursLow, $"{HoursLow}:{pupilId}:{RowId.New()}", pupilId, Receiver.Pupil(pupilId), [Fact.Of(Minutes, minutes)]) { Acts = [OpenAccount] }, cancel);
}

/// <summary>Puts them into words.</summary>
internal sealed class AccountWording : ILetterWording
{
    public IReadOnlyCollection<string> Kinds { get; } = [AccountLetters.Receipt, AccountLetters.Due, AccountLetters.HoursLow];

    public LetterWords Of(LetterReading letter) => letter.Letter.Kind switch
    {
        AccountLetters.Receipt => OfReceipt(letter),
        AccountLetters.Due => new(
            $"{Money(letter, AccountLetters.Owed)} to pay", $"{Money(letter, AccountLetters.Owed)} is to be paid for your lessons.",
            [("Amount", Money(letter, AccountLetters.Owed)), ("To", letter.School.Name), ("Reference for the transfer", letter.Text(AccountLetters.Reference))],
            [$"Give the reference exactly, so that we know the payment is yours. If you have paid already, you need do nothing{letter.OrCall}."], Links(letter)),
        _ => new(
            letter.Number(AccountLetters.Minutes) == 0 ? "Your prepaid hours are used up" : $"{ScreenWords.Length(letter.Number(AccountLetters.Minutes))} of your prepaid hours left",
            letter.Number(AccountLetters.Minutes) == 0 ? "All the hours that you paid for ahead have been taught." : $"Of the hours that you paid for ahead, {ScreenWords.Length(letter.Number(AccountLetters.Minutes))} can still be taught.",
            [], ["Lessons after that are paid for one by one, unless you buy hours again. Tell your instructor or the office which you prefer."], Links(letter)),
    };

    private static LetterWords OfReceipt(LetterReading letter)
    {
        var (back, amount, owed) = (letter.Has(AccountLetters.Back), Money(letter, AccountLetters.Amount), letter.Number(AccountLetters.Owed));
        return new(
            $"Receipt {letter.Number(AccountLetters.Number)}: {amount} {(back ? "paid back" : "received")}",
            back ? $"We have paid {amount} back to you." : $"We have received {amount} from you, with thanks.",
            [("Receipt", $"{letter.Number(AccountLetters.Number)}"), ("Amount", amount), ("How", letter.Text(AccountLetters.Method)), ("Paid on", ScreenWords.DayAndYear(letter.Day(AccountLetters.PaidOn)))],
            [owed > 0 ? $"{ScreenWords.Money(owed)} is still to be paid." : owed < 0 ? $"We hold {ScreenWords.Money(-owed)} for you." : "Nothing is left to pay."], Links(letter));
    }

    private static string Money(LetterReading letter, string fact) => ScreenWords.Money(letter.Number(fact));

    private static IReadOnlyList<(string Words, string Path)> Links(LetterReading letter) => letter.Links(code => code == AccountLetters.Open ? "Look at your account" : null);
}
