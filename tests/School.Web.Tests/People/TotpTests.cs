using System.Text;
using NodaTime;
using School.Web.Modules.People.SignIn;

namespace School.Web.Tests.People;

public sealed class TotpTests
{
    // RFC 6238, appendix B, the rows for SHA-1; the secret is the ASCII text "12345678901234567890".
    [Theory]
    [InlineData(59, "94287082")]
    [InlineData(1111111109, "07081804")]
    [InlineData(1111111111, "14050471")]
    [InlineData(1234567890, "89005924")]
    [InlineData(2000000000, "69279037")]
    [InlineData(20000000000, "65353130")]
    public void Codes_are_those_of_the_standards_table(long seconds, string code)
    {
        var secret = Encoding.ASCII.GetBytes("12345678901234567890");
        Assert.Equal(code, Totp.Code(secret, Totp.StepOf(Instant.FromUnixTimeSeconds(seconds)), digits: 8));
    }

    // RFC 4226, appendix D.
    [Theory]
    [InlineData(0, "755224")]
    [InlineData(1, "287082")]
    [InlineData(9, "520489")]
    public void Codes_of_six_digits_are_those_of_the_standards_table(long counter, string code) =>
        Assert.Equal(code, Totp.Code(Encoding.ASCII.GetBytes("12345678901234567890"), counter));

    // RFC 4648, section 10.
    [Theory]
    [InlineData("", "")]
    [InlineData("MY======", "f")]
    [InlineData("MZXQ====", "fo")]
    [InlineData("MZXW6===", "foo")]
    [InlineData("MZXW6YQ=", "foob")]
    [InlineData("MZXW6YTB", "fooba")]
    [InlineData("mzxw6ytboi======", "foobar")]
    public void Base_32_reads_as_the_standards_examples(string text, string plain) =>
        Assert.Equal(plain, Encoding.ASCII.GetString(Totp.FromBase32(text)));
}
