using CsCheck;
using NodaTime;
using School.Core.Accounts;

namespace School.Core.Tests.Accounts;

public sealed class BlockTests
{
    private static readonly LocalDate Sold = new(2026, 12, 1);

    // SI 2013/3134, regs 30, 31 and 36; ten hours for £360, two taught, cancelled on 8 December.
    [Theory]
    [InlineData(true, "2026-12-08", 288_00, RefundGround.Within14DaysProportion)]
    [InlineData(false, "2026-12-08", 360_00, RefundGround.Within14DaysAll)]
    [InlineData(false, "2026-12-15", 360_00, RefundGround.Within14DaysAll)]
    [InlineData(false, "2026-12-16", 288_00, RefundGround.ProRata)]
    public void A_block_is_given_back_by_the_fourteen_days_and_then_by_its_terms(bool asked, string day, long pence, RefundGround ground) =>
        Assert.Equal(new(pence, ground), BlockRefund.Of(Sold, 360_00, 600, 120, 38_00, RefundRule.ProRata, asked, Day(day)));

    [Fact]
    public void After_them_what_was_used_may_count_as_single_lessons_but_never_more_than_was_paid()
    {
        Assert.Equal(new(284_00, RefundGround.Revalued), BlockRefund.Of(Sold, 360_00, 600, 120, 38_00, RefundRule.Revalued, true, Day("2026-12-16")));
        Assert.Equal(new(0, RefundGround.Revalued), BlockRefund.Of(Sold, 360_00, 600, 570, 40_00, RefundRule.Revalued, true, Day("2026-12-16")));
        Assert.Equal(new(288_00, RefundGround.ProRata), BlockRefund.Of(Sold, 360_00, 600, 120, null, RefundRule.Revalued, true, Day("2026-12-16")));
    }

    [Fact]
    public void The_oldest_hours_are_used_first_and_a_block_that_is_used_up_comes_to_its_price()
    {
        var (old, young) = (Guid.Parse("00000000-0000-0000-0000-000000000001"), Guid.Parse("00000000-0000-0000-0000-000000000002"));
        PrepaidBlock[] blocks = [new(young, Sold.PlusDays(1), 600, 350_00, 0, 0), new(old, Sold, 70, 40_01, 0, 0)];
        Assert.Equal([new(old, 60, 34_29)], PrepaidBlock.Take(blocks, 60));
        blocks[1] = blocks[1] with { MinutesUsed = 60, PenceUsed = 34_29 };
        Assert.Equal([new(old, 10, 5_72), new(young, 50, 29_17)], PrepaidBlock.Take(blocks, 60));
        Assert.Empty(PrepaidBlock.Take([blocks[1] with { MinutesUsed = 70 }], 60));
    }

    [Fact]
    public void However_a_block_is_cut_up_nothing_of_its_price_is_lost_or_made() =>
        Gen.Select(Gen.Long[0, 1000_00], Gen.Int[15, 3000], Gen.Int[1, 480].Array[1, 60]).Sample((pence, minutes, takings) =>
        {
            var block = new PrepaidBlock(Guid.Empty, Sold, minutes, pence, 0, 0);
            foreach (var asked in takings)
            {
                foreach (var part in PrepaidBlock.Take([block], asked))
                {
                    Assert.True(part.Minutes <= asked && part.Minutes <= block.MinutesLeft);
                    Assert.InRange(part.Pence, 0, block.PenceLeft);
                    block = block with { MinutesUsed = block.MinutesUsed + part.Minutes, PenceUsed = block.PenceUsed + part.Pence };
                }
            }

            Assert.True(block.MinutesLeft > 0 || block.PenceLeft == 0);
        });

    private static LocalDate Day(string text) => NodaTime.Text.LocalDatePattern.Iso.Parse(text).Value;
}
