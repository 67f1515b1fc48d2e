using CsCheck;
using NodaTime;
using School.Core.Accounts;
using School.Core.Diary.Charges;

namespace School.Core.Tests.Accounts;

public sealed class PostingsTests
{
    private static readonly Guid Pupil = Guid.Parse("00000000-0000-0000-0000-00000000000a");
    private static readonly Guid Block = Guid.Parse("00000000-0000-0000-0000-00000000000b");

    [Fact]
    public void A_lesson_takes_prepaid_minutes_first_and_the_rest_is_owed()
    {
        var entry = Postings.Supply(LedgerAccount.LessonIncome, Pupil, 54_00, 90, [new(Block, 60, 30_00)], 200)!;
        Assert.Equal(
            [
                (LedgerAccount.Receivable, 18_00, 0), (LedgerAccount.LessonIncome, -15_00, 0), (LedgerAccount.VatOut, -3_00, 0),
                (LedgerAccount.Prepaid, 30_00, 60), (LedgerAccount.LessonIncome, -30_00, 0),
            ],
            entry.Lines.Select(line => (line.Account, line.Pence, line.Minutes)));
        Assert.True(entry.Reversed().Reversed().SaysTheSameAs(entry));
        Assert.False(entry.Reversed().SaysTheSameAs(entry));
    }

    [Fact]
    public void A_lesson_that_costs_nothing_is_no_entry_and_one_that_is_out_is_refused()
    {
        Assert.Null(Postings.Supply(LedgerAccount.LessonIncome, Pupil, 0, 60, [], null));
        Assert.Throws<InvalidOperationException>(() => JournalEntry.Of(new JournalLine(LedgerAccount.Bank, 1)));
    }

    [Fact]
    public void Whatever_happens_the_books_balance_and_the_pupils_accounts_come_to_the_control_accounts() =>
        Gen.Select(Gen.Int[0, 6], Gen.Int[0, 4], Gen.Long[0, 500_00], Gen.Int[15, 300], Gen.Int[0, 1]).Array[200, 400].Sample(
            acts =>
            {
                var books = new SmallBooks();
                foreach (var (act, who, pence, minutes, vat) in acts)
                {
                    books.Do(act, who, pence, minutes, vat == 1 ? 200 : null);
                }

                books.AssertRight();
            },
            iter: 250);

    [Theory]
    [InlineData(ChargeCode.Late, true, true, true, 0, true, 50, FeeReason.Charged)]
    [InlineData(ChargeCode.Missed, true, true, true, 0, true, 100, FeeReason.Charged)]
    [InlineData(ChargeCode.LateMove, true, true, true, 0, true, 0, FeeReason.NothingAsked)]
    [InlineData(ChargeCode.FreeWeather, false, true, true, 0, true, 0, FeeReason.NotChargeable)]
    [InlineData(ChargeCode.Waived, false, true, true, 0, true, 0, FeeReason.NotChargeable)]
    [InlineData(ChargeCode.Late, true, false, true, 0, true, 0, FeeReason.NoReminder)]
    [InlineData(ChargeCode.Late, true, true, false, 0, true, 0, FeeReason.NoTerms)]
    [InlineData(ChargeCode.Late, true, true, true, 1, true, 0, FeeReason.FreeOne)]
    [InlineData(ChargeCode.Late, true, true, true, 0, false, 0, FeeReason.NoPrice)]
    public void A_fee_is_asked_only_where_nothing_stands_in_its_way(
        ChargeCode code, bool chargeable, bool warned, bool accepted, int free, bool price, int percent, FeeReason reason)
    {
        var charge = new LessonCharge(code, chargeable, ChargeAct.Cancel, default, default, default);
        var policy = new FeePolicy(new(2026, 1, 1), 50, 0, 100, free, true);
        Assert.Equal(new(percent, reason), LateFee.Of(charge, policy, warned, accepted, 0, price));
        Assert.Equal(FeeReason.NothingAsked, chargeable ? LateFee.Of(charge, null, warned, accepted, 0, price).Reason : FeeReason.NothingAsked);
    }

    [Fact]
    public void What_is_paid_goes_to_the_oldest_debt_first()
    {
        var today = new LocalDate(2026, 12, 31);
        Assert.Equal(
            new DebtByAge(90_00, 10_00, 20_00, 30_00, 30_00),
            DebtByAge.Of([(today, 10_00), (today.PlusDays(-31), 20_00), (today.PlusDays(-61), 30_00), (today.PlusDays(-91), 40_00), (today, -10_00)], today));
        Assert.Equal(new DebtByAge(20_00, 20_00, 0, 0, 0), DebtByAge.Of([(today.PlusDays(-30), 20_00)], today));
        Assert.Equal(new DebtByAge(-5_00, 0, 0, 0, 0), DebtByAge.Of([(today.PlusDays(-40), 20_00), (today, -25_00)], today));
    }

    /// <summary>Books kept twice: by entries, and by hand for each pupil.</summary>
    private sealed class SmallBooks
    {
        private readonly List<JournalEntry> entries = [];
        private readonly Dictionary<Guid, long> owed = [];
        private readonly List<(Guid Pupil, PrepaidBlock Block, int? Vat)> blocks = [];
        private int made;

        public void Do(int act, int who, long pence, int minutes, int? vat)
        {
            var pupil = new Guid(who + 1, 0, 0, new byte[8]);
            switch (act)
            {
                case 0:
                    var taken = PrepaidBlock.Take(blocks.Where(b => b.Pupil == pupil).Select(b => b.Block), minutes);
                    Post(Postings.Supply(LedgerAccount.LessonIncome, pupil, pence, minutes, taken, vat));
                    foreach (var part in taken)
                    {
                        Use(part.BlockId, part.Minutes, part.Pence);
                    }

                    Owe(pupil, Pence.Share(pence, minutes - taken.Sum(part => part.Minutes), minutes));
                    break;
                case 1:
                    var id = new Guid(++made, 1, 0, new byte[8]);
                    Post(Postings.BlockSold(pupil, id, minutes, pence, vat));
                    blocks.Add((pupil, new(id, new LocalDate(2026, 1, 1).PlusDays(made), minutes, pence - (vat is { } rate ? Vat.Inside(pence, rate) : 0), 0, 0), vat));
                    Owe(pupil, pence);
                    break;
                case 2:
                    Post(Postings.Paid(pupil, LedgerAccount.Cash, Pupil, pence));
                    Owe(pupil, -pence);
                    break;
                case 3:
                    Post(Postings.WrittenOff(pupil, pence));
                    Owe(pupil, -pence);
                    break;
                case 4 when blocks.FirstOrDefault(b => b.Pupil == pupil) is { Block: { } block } first:
                    Post(Postings.BlockGivenBack(pupil, block, pence, first.Vat));
                    Use(block.Id, block.MinutesLeft, block.PenceLeft);
                    Owe(pupil, -pence);
                    break;
                case 5 when entries.Count > 0:
                    // Undone and done again.
                    Post(entries[^1].Reversed());
                    Post(entries[^1].Reversed());
                    break;
                default:
                    Post(Postings.HandedIn(Pupil, pence, minutes));
                    Post(Postings.Banked(LedgerAccount.Card, pence));
                    break;
            }
        }

        public void AssertRight()
        {
            var lines = entries.SelectMany(entry => entry.Lines).ToList();
            Assert.Equal(0, lines.Sum(line => line.Pence));
            Assert.Equal(owed.Values.Sum(), lines.Where(line => line.Account == LedgerAccount.Receivable).Sum(line => line.Pence));
            Assert.Equal(-blocks.Sum(b => b.Block.PenceLeft), lines.Where(line => line.Account == LedgerAccount.Prepaid).Sum(line => line.Pence));
            Assert.Equal(-blocks.Sum(b => b.Block.MinutesLeft), lines.Sum(line => line.Minutes));
            foreach (var (pupil, pence) in owed)
            {
                Assert.Equal(pence, lines.Where(line => line.Account == LedgerAccount.Receivable && line.PupilId == pupil).Sum(line => line.Pence));
            }
        }

        private void Post(JournalEntry? entry)
        {
            if (entry is not null)
            {
                entries.Add(entry);
            }
        }

        private void Owe(Guid pupil, long pence) => owed[pupil] = owed.GetValueOrDefault(pupil) + pence;

        private void Use(Guid id, int minutes, long pence)
        {
            var at = blocks.FindIndex(b => b.Block.Id == id);
            var one = blocks[at];
            blocks[at] = one with { Block = one.Block with { MinutesUsed = one.Block.MinutesUsed + minutes, PenceUsed = one.Block.PenceUsed + pence } };
        }
    }
}
