using CsCheck;
using School.Core.Accounts;

namespace School.Core.Tests.Accounts;

/// <summary>ISO 11649:2009, annex B, and values worked out by its rule.</summary>
public sealed class CreditorReferenceTests
{
    [Theory]
    [InlineData("2348231", "RF712348231")] // ISO 11649:2009, B.1
    [InlineData("539007547034", "RF18539007547034")]
    [InlineData("PUPIL0042", "RF67PUPIL0042")]
    [InlineData("lsn20260042", "RF17LSN20260042")]
    [InlineData("12345678901234", "RF5312345678901234")]
    [InlineData("0", "RF040")]
    public void A_body_has_one_reference(string body, string reference)
    {
        Assert.Equal(reference, CreditorReference.Of(body));
        Assert.True(CreditorReference.TryRead(reference, out _));
    }

    [Theory]
    [InlineData(" rf18 5390 0754 7034 ", "RF18539007547034")]
    [InlineData("RF185390075470Y", "RF185390075470Y")]
    [InlineData("RF17539007547034", null)]
    [InlineData("RF68539007547034", null)]
    [InlineData("RF00539007547034", null)]
    [InlineData("RF1853900754703412345678901", null)]
    [InlineData("RFAA539007547034", null)]
    [InlineData("RF18", null)]
    [InlineData("", null)]
    [InlineData(null, null)]
    [InlineData("RF04ß", null)]
    public void It_is_read_whatever_its_case_and_blanks_and_refused_where_it_is_not_whole(string? typed, string? reference)
    {
        Assert.Equal(reference is not null, CreditorReference.TryRead(typed, out var read));
        Assert.Equal(reference ?? read, read);
    }

    [Fact]
    public void One_wrong_character_or_two_that_changed_places_are_noticed() =>
        Gen.Select(Gen.Char["0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"].Array[4, CreditorReference.LongestBody], Gen.Int[0, 13], Gen.Char["0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"])
            .Sample((body, place, other) =>
            {
                var reference = CreditorReference.Of(new string(body));
                Assert.True(reference.Length <= 18);
                var at = 4 + (place % body.Length);
                var wrong = reference.ToCharArray();
                wrong[at] = other;
                Assert.Equal(wrong.AsSpan().SequenceEqual(reference), CreditorReference.TryRead(new string(wrong), out _));
                if (at > 4)
                {
                    var swapped = reference.ToCharArray();
                    (swapped[at], swapped[at - 1]) = (swapped[at - 1], swapped[at]);
                    Assert.Equal(swapped.AsSpan().SequenceEqual(reference), CreditorReference.TryRead(new string(swapped), out _));
                }
            });
}
