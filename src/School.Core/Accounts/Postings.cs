namespace School.Core.Accounts;

/// <summary>The entries that what happens in a school comes to.</summary>
public static class Postings
{
    /// <summary>A lesson taught, or a fee for one that was not: taken from prepaid minutes as far as they reach, the rest is owed.</summary>
    /// <param name="income">Where it is earned.</param>
    /// <param name="pupilId">Whose it is.</param>
    /// <param name="grossPence">The price of all its minutes, with VAT.</param>
    /// <param name="minutes">Its minutes, nought or more; at least as many as were taken.</param>
    /// <param name="taken">What prepaid blocks give.</param>
    /// <param name="vatPerMille">The rate of VAT inside; null where the seller is not registered.</param>
    public static JournalEntry? Supply(LedgerAccount income, Guid pupilId, long grossPence, int minutes, IReadOnlyList<Taking> taken, int? vatPerMille)
    {
        var rest = minutes == 0 ? grossPence : Pence.Share(grossPence, minutes - taken.Sum(part => part.Minutes), minutes);
        return JournalEntry.Of(
        [
            new(LedgerAccount.Receivable, rest) { PupilId = pupilId },
            .. Earned(income, rest, vatPerMille),
            .. taken.SelectMany(part => new JournalLine[]
            {
                new(LedgerAccount.Prepaid, part.Pence) { PupilId = pupilId, BlockId = part.BlockId, Minutes = part.Minutes },
                new(income, -part.Pence),
            }),
        ]);
    }

    /// <summary>Hours sold together. VAT is due when they are sold: what is paid ahead has its tax point then (from memory; see the seller's own advice).</summary>
    /// <param name="pupilId">To whom.</param>
    /// <param name="blockId">The block.</param>
    /// <param name="minutes">Minutes sold.</param>
    /// <param name="grossPence">The price with VAT.</param>
    /// <param name="vatPerMille">The rate of VAT inside; null where the seller is not registered.</param>
    public static JournalEntry? BlockSold(Guid pupilId, Guid blockId, int minutes, long grossPence, int? vatPerMille)
    {
        var vat = VatInside(grossPence, vatPerMille);
        return JournalEntry.Of(
            new(LedgerAccount.Receivable, grossPence) { PupilId = pupilId },
            new(LedgerAccount.Prepaid, vat - grossPence) { PupilId = pupilId, BlockId = blockId, Minutes = -minutes },
            new(LedgerAccount.VatOut, -vat));
    }

    /// <summary>The rest of a block is given back as money owed to the pupil; what the terms keep of it is earned, and what they give beyond it is taken from what was.</summary>
    /// <param name="pupilId">Whose it is.</param>
    /// <param name="block">The block as it stands.</param>
    /// <param name="refundPence">What is given back, with VAT.</param>
    /// <param name="vatPerMille">The rate at which it was sold; null without VAT.</param>
    public static JournalEntry? BlockGivenBack(Guid pupilId, PrepaidBlock block, long refundPence, int? vatPerMille)
    {
        var vat = VatInside(refundPence, vatPerMille);
        return JournalEntry.Of(
            new(LedgerAccount.Prepaid, block.PenceLeft) { PupilId = pupilId, BlockId = block.Id, Minutes = block.MinutesLeft },
            new(LedgerAccount.VatOut, vat),
            new(LedgerAccount.Receivable, -refundPence) { PupilId = pupilId },
            new(LedgerAccount.LessonIncome, refundPence - vat - block.PenceLeft));
    }

    /// <summary>Money comes in from a pupil; negative where it is paid back.</summary>
    /// <param name="pupilId">For whom.</param>
    /// <param name="into">Bank, cash or card.</param>
    /// <param name="holderId">Who has the cash; null for the office.</param>
    /// <param name="pence">How much.</param>
    public static JournalEntry? Paid(Guid pupilId, LedgerAccount into, Guid? holderId, long pence) => JournalEntry.Of(
        new(into, pence) { HolderId = into == LedgerAccount.Cash ? holderId : null },
        new(LedgerAccount.Receivable, -pence) { PupilId = pupilId });

    /// <summary>What is owed is given up.</summary>
    /// <param name="pupilId">Whose debt.</param>
    /// <param name="pence">How much.</param>
    public static JournalEntry? WrittenOff(Guid pupilId, long pence) => JournalEntry.Of(
        new(LedgerAccount.WriteOff, pence), new(LedgerAccount.Receivable, -pence) { PupilId = pupilId });

    /// <summary>What a pupil owed when the books were opened; negative for what they had paid ahead.</summary>
    /// <param name="pupilId">Whose.</param>
    /// <param name="pence">How much.</param>
    public static JournalEntry? Opening(Guid pupilId, long pence) => JournalEntry.Of(
        new(LedgerAccount.Receivable, pence) { PupilId = pupilId }, new(LedgerAccount.OpeningBalances, -pence));

    /// <summary>Hours that a pupil had paid for when the books were opened.</summary>
    /// <param name="pupilId">Whose.</param>
    /// <param name="blockId">The block.</param>
    /// <param name="minutes">Minutes still to be taught.</param>
    /// <param name="pence">What they come to, without VAT.</param>
    public static JournalEntry? OpeningBlock(Guid pupilId, Guid blockId, int minutes, long pence) => JournalEntry.Of(
        new(LedgerAccount.OpeningBalances, pence), new(LedgerAccount.Prepaid, -pence) { PupilId = pupilId, BlockId = blockId, Minutes = -minutes });

    /// <summary>An instructor hands in cash: it is counted, and a difference to what should be there is written down.</summary>
    /// <param name="holderId">Who hands it in.</param>
    /// <param name="shouldBe">What should be in their hand, in pence.</param>
    /// <param name="counted">What was counted.</param>
    public static JournalEntry? HandedIn(Guid holderId, long shouldBe, long counted) => JournalEntry.Of(
        new(LedgerAccount.Cash, -shouldBe) { HolderId = holderId }, new(LedgerAccount.Cash, counted), new(LedgerAccount.WriteOff, shouldBe - counted));

    /// <summary>Cash of the office, or card payments, arrive at the bank.</summary>
    /// <param name="from">Cash or card.</param>
    /// <param name="pence">How much.</param>
    public static JournalEntry? Banked(LedgerAccount from, long pence) => JournalEntry.Of(new(LedgerAccount.Bank, pence), new(from, -pence));

    private static JournalLine[] Earned(LedgerAccount income, long gross, int? vatPerMille)
    {
        var vat = VatInside(gross, vatPerMille);
        return [new(income, vat - gross), new(LedgerAccount.VatOut, -vat)];
    }

    private static long VatInside(long gross, int? perMille) => perMille is { } rate ? Vat.Inside(gross, rate) : 0;
}
