using School.Core.Travel;

namespace School.Core.Tests.Travel;

// Source: the pattern in the BS 7666 version 2.0 schema, PostCodeType (National Archives copy of 26 November 2010).
public class PostcodeTests
{
    [Theory]
    [InlineData("M1 1AE", "M1")]
    [InlineData("B33 8TH", "B33")]
    [InlineData("CR2 6XH", "CR2")]
    [InlineData("DN55 1PT", "DN55")]
    [InlineData("W1A 1HQ", "W1A")]
    [InlineData("EC1A 1BB", "EC1A")]
    [InlineData("BT1 5GS", "BT1")]
    [InlineData("E1C 1AA", "E1C")]
    [InlineData("GIR 0AA", "GIR")]
    [InlineData("N1P 1AA", "N1P")] // in use though the schema's third letters leave out P (from memory)
    [InlineData("JE2 3AB", "JE2")]
    public void A_well_formed_postcode_is_accepted(string text, string outward)
    {
        Assert.True(Postcode.TryParse(text, out var postcode, out _));
        Assert.Equal((text, outward), (postcode.ToString(), postcode.Outward));
    }

    [Theory]
    [InlineData("QA1 1AA", "outward")]
    [InlineData("AI1 1AA", "outward")]
    [InlineData("EC1D 1AA", "outward")]
    [InlineData("ABC 1AA", "outward")]
    [InlineData("SW1A 1AC", "inward")]
    [InlineData("M1 AAE", "inward")]
    [InlineData("M1 ١AE", "inward")]
    [InlineData("M1", "length")]
    [InlineData("DN555 1PTX", "length")]
    [InlineData(" ", "missing")]
    [InlineData(null, "missing")]
    public void A_malformed_postcode_is_refused_with_what_is_wrong(string? text, string reason)
    {
        Assert.False(Postcode.TryParse(text, out var postcode, out var problem));
        Assert.Null(postcode);
        Assert.Equal($"postcode_{reason}", problem.Code);
    }

    [Theory]
    [InlineData("m11ae", "M1 1AE")]
    [InlineData(" ec1a1bb ", "EC1A 1BB")]
    [InlineData("dn 55 1 pt", "DN55 1PT")]
    public void Capitals_and_one_space_are_put_in(string text, string expected)
    {
        Assert.True(Postcode.TryParse(text, out var postcode, out _));
        Assert.Equal(expected, postcode.ToString());
    }
}
