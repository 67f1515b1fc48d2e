using System.Text;
using CsCheck;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Tests.Platform;

public sealed class FormsTests
{
    [Theory]
    [InlineData("  Tamsin \t  Oakley\r\n", "Tamsin Oakley")]
    [InlineData("Zoe\u0308", "Zo\u00EB")]
    [InlineData("ليلى حداد", "ليلى حداد")]
    [InlineData("אורי \u200Fלוי", "אורי \u200Fלוי")]
    [InlineData("Tam 👩‍🚗🏴󠁧󠁢󠁥󠁮󠁧󠁿", "Tam 👩‍🚗🏴󠁧󠁢󠁥󠁮󠁧󠁿")]
    [InlineData("می\u200Cخواهم", "می\u200Cخواهم")]
    [InlineData("abc\u202Egnp.exe\u202C\u2066x\u2069", "abcgnp.exex")]
    [InlineData("a\0b\u0007c\u007F", "abc")]
    [InlineData("half \uD83D pair \uDE97", "half pair")]
    [InlineData("\u200B\u200D\uFEFF ", "")]
    [InlineData(null, "")]
    public void A_line_keeps_every_script_and_loses_what_cannot_be_seen(string? typed, string kept) => Assert.Equal(kept, CleanText.Line(typed));

    [Fact]
    public void Cleaning_twice_changes_nothing_more() => Gen.String[Gen.Char, 0, 40].Sample(text =>
    {
        var once = CleanText.Lines(text);
        Assert.Equal(once, CleanText.Lines(once));
        Assert.DoesNotContain(once, c => char.IsControl(c) && c != '\n');
        Assert.True(once.IsNormalized(NormalizationForm.FormC));
    });

    [Fact]
    public void Notes_keep_their_lines() => Assert.Equal("one\ntwo\n\nthree", CleanText.Lines(" one \r\ntwo\n\n\n\nthree\n"));

    [Fact]
    public void Length_is_counted_as_people_count_it()
    {
        Assert.True(CleanText.FitsIn(string.Concat(Enumerable.Repeat("👨‍👩‍👧‍👦", 10)), 20));
        Assert.True(CleanText.FitsIn(string.Concat(Enumerable.Repeat("🚗", 20)), 20));
        Assert.False(CleanText.FitsIn(string.Concat(Enumerable.Repeat("🚗", 21)), 20));
        Assert.False(CleanText.FitsIn("a" + new string('\u0301', 500), 20));
    }

    // 01632 960000 to 960999 and 07700 900000 to 900999 are kept free for stories (Ofcom, numbers for use in TV and radio drama).
    [Theory]
    [InlineData("01632 960001", "+441632960001", "01632 960001")]
    [InlineData("+44 (0)7700 900123", "+447700900123", "07700 900123")]
    [InlineData("07700-900-123", "+447700900123", "07700 900123")]
    [InlineData("+33 1 99 00 12 34", "+33199001234", "+33 1 99 00 12 34")]
    public void A_phone_number_is_kept_as_E164_and_shown_as_people_write_it(string typed, string kept, string shown)
    {
        Assert.True(Phone.TryParse(typed, out var e164, out var problem), problem);
        Assert.Equal(kept, e164);
        Assert.Equal(shown, Phone.Display(e164));
        Assert.True(Phone.TryParse(shown, out var again, out _));
        Assert.Equal(kept, again);
    }

    [Theory]
    [InlineData("", "Enter a phone number.")]
    [InlineData("call me", "This is not a phone number.")]
    [InlineData("0770", "too few digits")]
    [InlineData("07700 900123 45678", "too many digits")]
    [InlineData("01632 960001 ext 5", "extension")]
    public void A_wrong_phone_number_says_what_is_wrong(string typed, string words)
    {
        Assert.False(Phone.TryParse(typed, out _, out var problem));
        Assert.Contains(words, problem, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("tamsin@larkfield.example", true)]
    [InlineData("  o'neil+lessons@mail.larkfield.example ", true)]
    [InlineData("tamsin@larkfield", false)]
    [InlineData("tamsin larkfield.example", false)]
    [InlineData("tamsin@larkfield.example\r\nBcc: all@larkfield.example", false)]
    [InlineData("Tamsin <tamsin@larkfield.example>", false)]
    [InlineData("", false)]
    public void An_e_mail_address_must_look_like_one(string typed, bool right)
    {
        var errors = new FieldErrors();
        var address = errors.ReadEmail("Email", typed);
        Assert.Equal(right, !errors.Any);
        Assert.Equal(right ? typed.Trim() : "", address);
    }

    [Fact]
    public void An_e_mail_address_has_254_characters_at_most()
    {
        var labels = string.Join('.', Enumerable.Repeat(new string('a', 47), 4));
        var longest = $"{new string('b', 254 - labels.Length - 1)}@{labels}";
        Assert.Equal(254, longest.Length);
        Assert.Equal(longest, new FieldErrors().ReadEmail("Email", longest));
        Assert.Equal("", new FieldErrors().ReadEmail("Email", "b" + longest));
    }

    [Theory]
    [InlineData("geo:52.4,-1.2;u=35")]
    [InlineData("52.4, -1.2")]
    public void A_place_takes_a_pasted_position(string position)
    {
        var errors = new FieldErrors();
        var place = errors.ReadPlace("PickUp", new("Mill Lane", "12 Mill Lane,\nLarkfield", "lk1 2ab", Position: position));
        Assert.False(errors.Any);
        Assert.Equal(new() { Label = "Mill Lane", Address = "12 Mill Lane, Larkfield", Postcode = "LK1 2AB", Latitude = 52.4, Longitude = -1.2 }, place);
    }

    [Fact]
    public void A_place_sent_back_as_it_was_told_is_the_same()
    {
        var place = new Place { Label = "Mill Lane", Address = "12 Mill Lane", Postcode = "LK1 2AB", Latitude = 52.400123, Longitude = -1.2 };
        Assert.Equal(place, new FieldErrors().ReadPlace("PickUp", PlaceInput.Of(place)));
        var told = PlaceView.Of(place);
        Assert.Equal(place, new FieldErrors().ReadPlace("PickUp", new(told.Label, told.Address, told.Postcode, told.Latitude, told.Longitude)));
    }

    [Fact]
    public void A_wrong_place_says_so_beside_each_part()
    {
        var errors = new FieldErrors();
        Assert.Null(errors.ReadPlace("PickUp", new("", new string('x', 300), "nonsense", 91, double.NaN)));
        Assert.Equal(
            ["PickUp.Address", "PickUp.Label", "PickUp.Latitude", "PickUp.Longitude", "PickUp.Postcode"],
            errors.ToRefusal()!.Fields.Keys.Order());
    }

    [Fact]
    public void A_place_without_a_position_says_why_it_is_needed()
    {
        var errors = new FieldErrors();
        Assert.Null(errors.ReadPlace("PickUp", new("Mill Lane", "12 Mill Lane")));
        Assert.Contains("driving times", Assert.Single(errors.ToRefusal()!.Fields["PickUp.Position"]), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("+441632960001", "tel:+441632960001")]
    [InlineData("01632 960 001", "tel:+441632960001")]
    [InlineData("(112) ask", "tel:112")]
    public void A_number_to_dial_holds_no_spaces(string kept, string address) => Assert.Equal(address, Phone.Link(kept));
}
