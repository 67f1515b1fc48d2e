using School.Core.People;
using Xunit;

namespace School.Core.Tests.People;

public sealed class SignInNameTests
{
    [Theory]
    [InlineData("Tamsin@Larkfield.example", "TAMSIN@LARKFIELD.EXAMPLE")]
    [InlineData("tamsin.oaKley", "TAMSIN.OAKLEY")]
    // U+212A is the Kelvin sign, U+FF54 a wide t, U+FB01 the two letters f and i in one: compatibility forms of Unicode (UAX #15, section 1.1).
    [InlineData("oa\u212Aley", "OAKLEY")]
    [InlineData("\uFF54amsin", "TAMSIN")]
    [InlineData("\uFB01nch", "FINCH")]
    public void A_name_is_the_same_however_it_was_typed(string typed, string folded) => Assert.Equal(folded, SignInName.Fold(typed));

    [Theory]
    [InlineData("bill", "b1ll")]
    [InlineData("bill", "blII")]
    [InlineData("oakley", "0akley")]
    [InlineData("marnie", "rnarnie")]
    [InlineData("harm.on", "harrn.0n")]
    [InlineData("wren.vale", "vvren.vale")]
    [InlineData("tamsin.oakley", "tamsin-oakley")]
    [InlineData("tamsin_oakley", "tamsin-oakley")]
    public void Names_that_look_alike_have_the_same_look(string one, string other)
    {
        Assert.NotEqual(SignInName.Fold(one), SignInName.Fold(other));
        Assert.Equal(SignInName.Look(SignInName.Fold(one)), SignInName.Look(SignInName.Fold(other)));
    }

    [Theory]
    [InlineData("tamsin", "tomsin")]
    [InlineData("tamsin.oakley", "tamsinoakley")]
    [InlineData("vale", "wale")]
    [InlineData("reeve", "reeve2")]
    public void Names_that_differ_to_the_eye_differ(string one, string other) =>
        Assert.NotEqual(SignInName.Look(SignInName.Fold(one)), SignInName.Look(SignInName.Fold(other)));

    [Theory]
    [InlineData("")]
    [InlineData("  ")]
    [InlineData("ab")]
    [InlineData("a23456789012345678901234567890123456789012")]
    [InlineData("tamsin oakley")]
    [InlineData("tamsin@larkfield.example")]
    [InlineData("1tamsin")]
    [InlineData("-tamsin")]
    // The Cyrillic а and the Greek ο look like a and o (Unicode Technical Standard #39, section 4, from memory).
    [InlineData("t\u0430msin")]
    [InlineData("\u03BFakley")]
    [InlineData("zo\u00EB")]
    [InlineData("tam\u200Bsin")]
    [InlineData("nismat\u202E")]
    public void A_name_outside_the_small_alphabet_is_not_chosen(string name) => Assert.NotNull(SignInName.Problem(name));

    [Theory]
    [InlineData("tamsin")]
    [InlineData("Tamsin.Oakley_2")]
    [InlineData("abc")]
    public void A_name_of_letters_figures_and_signs_is_chosen(string name) => Assert.Null(SignInName.Problem(name));

    [Theory]
    [InlineData("Tamsin Oakley", "tamsin.oakley")]
    [InlineData("Zoë  Ashby", "zoe.ashby")]
    [InlineData("李", "")]
    [InlineData("", "")]
    public void A_name_is_suggested_from_what_somebody_is_called(string called, string suggested) => Assert.Equal(suggested, SignInName.Suggest(called));
}
