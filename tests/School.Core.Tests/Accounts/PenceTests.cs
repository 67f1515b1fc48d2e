using System.Numerics;
using CsCheck;
using NodaTime;
using School.Core.Accounts;

namespace School.Core.Tests.Accounts;

public sealed class PenceTests
{
    // HMRC VATREC12010: to the nearest penny; 20 % inside is a sixth.
    [Theory]
    [InlineData(35_00, 5_83)]
    [InlineData(36_00, 6_00)]
    [InlineData(37_00, 6_17)]
    [InlineData(40_00, 6_67)]
    [InlineData(62_00, 10_33)]
    [InlineData(3, 1)]
    [InlineData(-35_00, -5_83)]
    public void Vat_inside_a_price_is_told_to_the_nearest_penny(long gross, long vat) => Assert.Equal(vat, Vat.Inside(gross, Vat.RateOn(new(2026, 12, 1))));

    [Fact]
    public void No_rate_is_made_up_for_days_before_the_one_that_is_known() => Assert.Throws<ArgumentOutOfRangeException>(() => Vat.RateOn(new(2011, 1, 3)));

    [Fact]
    public void A_share_is_the_nearest_penny_and_shares_of_a_whole_come_to_it() =>
        Gen.Select(Gen.Long[-Pence.Most, Pence.Most], Gen.Int[1, 5000], Gen.Int[0, 5000]).Sample((pence, whole, part) =>
        {
            part %= whole + 1;
            var share = Pence.Share(pence, part, whole);
            // At most half a penny off, in whole numbers.
            Assert.True(BigInteger.Abs((new BigInteger(share) * whole) - (new BigInteger(pence) * part)) * 2 <= whole);
            Assert.Equal(pence, Pence.Share(pence, whole, whole));
            Assert.Equal(-share, Pence.Share(-pence, part, whole));
        });

    [Theory]
    [InlineData("36", 36_00)]
    [InlineData(" £36.50 ", 36_50)]
    [InlineData("1,250.00", 1250_00)]
    [InlineData("0.05", 5)]
    [InlineData("100000", 100_000_00)]
    public void Amounts_are_read_as_people_write_them(string typed, long pence)
    {
        Assert.True(Pence.TryParse(typed, out var read));
        Assert.Equal(pence, read);
    }

    [Theory]
    [InlineData("36.5")]
    [InlineData("-36")]
    [InlineData("36.505")]
    [InlineData("1,25.00")]
    [InlineData("€36")]
    [InlineData("36 GBP")]
    [InlineData("")]
    [InlineData(null)]
    [InlineData(".50")]
    [InlineData("100000.01")]
    [InlineData("99999999999999999999")]
    [InlineData("٣٦")]
    public void What_is_no_amount_of_pounds_is_refused(string? typed) => Assert.False(Pence.TryParse(typed, out _));
}
