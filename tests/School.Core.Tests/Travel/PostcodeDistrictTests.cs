using School.Core.Travel;

namespace School.Core.Tests.Travel;

public sealed class PostcodeDistrictTests
{
    [Theory]
    [InlineData(" lk1 ", "LK1")]
    [InlineData("ec1a", "EC1A")]
    [InlineData("M 1", "M1")]
    [InlineData("DN55", "DN55")]
    public void A_district_is_read_as_typed(string typed, string expected)
    {
        Assert.True(PostcodeDistrict.TryParse(typed, out var district, out _));
        Assert.Equal(expected, district.ToString());
    }

    [Theory]
    [InlineData(null, "district_missing")]
    [InlineData("  ", "district_missing")]
    [InlineData("LK1 2AB", "district_form")]
    [InlineData("LK", "district_form")]
    [InlineData("1LK", "district_form")]
    [InlineData("LK1, LK2", "district_form")]
    public void What_is_not_a_district_is_told(string? typed, string code)
    {
        Assert.False(PostcodeDistrict.TryParse(typed, out _, out var problem));
        Assert.Equal(code, problem.Code);
    }

    [Fact]
    public void A_postcode_lies_in_the_district_of_its_first_half()
    {
        Assert.True(Postcode.TryParse("bt7 1nn", out var postcode, out _));
        Assert.Equal("BT7", PostcodeDistrict.Of(postcode).Text);
        Assert.True(PostcodeDistrict.Of(postcode).InNorthernIreland);
    }

    [Fact]
    public void Districts_stand_in_the_order_of_their_numbers()
    {
        string[] expected = ["B3", "EC1A", "EC1V", "LK1", "LK2", "LK10"];

        Assert.Equal(expected, expected.Reverse().Select(Of).Order().Select(district => district.Text));
    }

    private static PostcodeDistrict Of(string text) => PostcodeDistrict.TryParse(text, out var district, out _) ? district : throw new ArgumentException(text);
}
