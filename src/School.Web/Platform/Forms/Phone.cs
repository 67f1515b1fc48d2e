using PhoneNumbers;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Forms;

/// <summary>Phone numbers: kept as E.164, shown as people write them, read as British unless they begin with +.</summary>
internal static class Phone
{
    public const int Longest = 40;
    private const string Home = "GB";
    private static readonly PhoneNumberUtil Util = PhoneNumberUtil.GetInstance();

    /// <summary>A number that must be there, as E.164; empty when it was not right.</summary>
    public static string ReadPhone(this FieldErrors errors, string field, string? typed)
    {
        if (TryParse(typed, out var e164, out var problem))
        {
            return e164;
        }

        errors.Add(field, problem);
        return "";
    }

    public static bool TryParse(string? typed, out string e164, out string problem)
    {
        (e164, problem) = ("", Problem(CleanText.Line(typed), out var number));
        if (problem.Length == 0)
        {
            e164 = Util.Format(number!, PhoneNumberFormat.E164);
        }

        return problem.Length == 0;
    }

    /// <summary>The number for people; what was kept when it is not a number.</summary>
    public static string Display(string e164)
    {
        if (Problem(e164, out var number).Length > 0 || number is null)
        {
            return e164;
        }

        return Util.Format(number, Util.GetRegionCodeForCountryCode(number.CountryCode) == Home ? PhoneNumberFormat.NATIONAL : PhoneNumberFormat.INTERNATIONAL);
    }

    /// <summary>The address that dials it (RFC 3966), also where an old setting holds what people write.</summary>
    public static string Link(string phone) =>
        "tel:" + (IsE164(phone) ? phone : TryParse(phone, out var e164, out _) ? e164 : string.Concat(phone.Where(c => char.IsAsciiDigit(c) || c == '+')));

    /// <summary>ITU-T E.164: + and at most fifteen digits.</summary>
    private static bool IsE164(string phone) => phone is ['+', .. { Length: >= 7 and <= 15 } digits] && digits.All(char.IsAsciiDigit);

    private static string Problem(string text, out PhoneNumber? number)
    {
        number = null;
        if (text.Length == 0)
        {
            return "Enter a phone number.";
        }

        try
        {
            number = text.Length > Longest ? null : Util.Parse(text, Home);
        }
        catch (NumberParseException)
        {
            // Told below.
        }

        return number is null ? "This is not a phone number. Write it like 01632 960001, or with + and the country's code from abroad."
            : number.HasExtension ? "Leave out the extension: messages and calls go to the number itself."
            : Util.IsPossibleNumberWithReason(number) switch
            {
                PhoneNumberUtil.ValidationResult.IS_POSSIBLE => "",
                PhoneNumberUtil.ValidationResult.TOO_LONG => "This phone number has too many digits.",
                PhoneNumberUtil.ValidationResult.INVALID_COUNTRY_CODE => "There is no country with this code.",
                _ => "This phone number has too few digits: write all of it, with the area code.",
            };
    }
}
