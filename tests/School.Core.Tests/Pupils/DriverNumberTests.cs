using CsCheck;
using NodaTime;
using School.Core.Pupils;

namespace School.Core.Tests.Pupils;

public class DriverNumberTests
{
    // Published specimens: Samantha Michelle Morgan on DVLA's sample licences (the second from memory), and the test person
    // of GOV.UK One Login; the last is made for a short surname and checked against One Login's pattern (fields.js).
    [Theory]
    [InlineData("MORGA657054SM9IJ", 1964, 7, 5)]
    [InlineData("MORGA753116SM9IJ", 1976, 3, 11)]
    [InlineData("DECER607085K99AE", 1965, 7, 8)]
    [InlineData("MAN99801015JK2CD", 1985, 1, 1)]
    public void Published_specimens_are_accepted_and_agree_with_their_birth_date(string text, int year, int month, int day)
    {
        Assert.True(DriverNumber.TryParse(text, out var number, out _));
        Assert.Equal(text, number.Value);
        Assert.True(number.AgreesWith(new LocalDate(year, month, day)));
    }

    // Source: GOV.UK One Login, ipv-cri-dl-front, fields.js; for each a single character differs from a specimen.
    [Theory]
    [InlineData("MORGA637054SM9IJ", "month")]
    [InlineData("MORGA600054SM9IJ", "month")]
    [InlineData("MORGA613054SM9IJ", "month")]
    [InlineData("MORGA663054SM9IJ", "month")]
    [InlineData("MORGA657004SM9IJ", "day")]
    [InlineData("MORGA657324SM9IJ", "day")]
    [InlineData("MORGA656314SM9IJ", "day")] // 31 June
    [InlineData("MORGA652295SM9IJ", "day")] // 29 February 1965
    [InlineData("MORGA65705XSM9IJ", "year")]
    [InlineData("MORGAX57054SM9IJ", "year")]
    [InlineData("MORGA657054SM1IJ", "distinguishing")]
    [InlineData("MORGA657054SMOIJ", "distinguishing")]
    [InlineData("MORGA6570549M9IJ", "initials")]
    [InlineData("MORGA657054SM9I9", "check")]
    [InlineData("99999657054SM9IJ", "surname")]
    [InlineData("MO9GA657054SM9IJ", "surname")]
    [InlineData("MORGA657054SM9I", "length")]
    [InlineData("MORGA657054SM9IJJ", "length")]
    [InlineData("MORGA657054SM9IJ35", "issue")]
    [InlineData("12345678", "northern_ireland")]
    [InlineData("  ", "missing")]
    [InlineData(null, "missing")]
    public void A_malformed_number_is_refused_with_what_is_wrong(string? text, string reason)
    {
        Assert.False(DriverNumber.TryParse(text, out var number, out var problem));
        Assert.Null(number);
        Assert.Equal($"driver_number_{reason}", problem.Code);
        Assert.EndsWith(".", problem.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Spaces_hyphens_and_small_letters_are_put_right()
    {
        Assert.True(DriverNumber.TryParse(" morga 657054-sm9ij ", out var number, out _));
        Assert.Equal("MORGA657054SM9IJ", number.Value);
    }

    [Theory]
    [InlineData(1974, 7, 5)]
    [InlineData(1965, 7, 5)]
    [InlineData(1964, 8, 5)]
    [InlineData(1964, 7, 6)]
    public void Another_birth_date_does_not_agree(int year, int month, int day)
    {
        Assert.True(DriverNumber.TryParse("MORGA657054SM9IJ", out var number, out _));
        Assert.False(number.AgreesWith(new LocalDate(year, month, day)));
    }

    [Fact]
    public void A_number_made_for_any_birth_date_agrees_with_it_and_not_with_the_day_after()
    {
        var birthDates = Gen.Int[0, 36_524].Select(days => new LocalDate(1925, 1, 1).PlusDays(days));
        Gen.Select(birthDates, Gen.Bool).Sample((born, female) =>
        {
            var year = born.Year % 100;
            var text = $"ASHDO{year / 10}{born.Month + (female ? 50 : 0):00}{born.Day:00}{year % 10}R99AB";
            Assert.True(DriverNumber.TryParse(text, out var number, out _), text);
            Assert.True(number.AgreesWith(born));
            Assert.False(number.AgreesWith(born.PlusDays(1)));
        });
    }

    [Fact]
    public void A_number_written_by_accident_into_a_log_is_hidden()
    {
        Assert.True(DriverNumber.TryParse("MORGA657054SM9IJ", out var number, out _));
        Assert.DoesNotContain("MORGA", $"{number}", StringComparison.Ordinal);
    }
}
