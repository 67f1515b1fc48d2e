using System.Text.RegularExpressions;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Forms;

/// <summary>E-mail addresses that look right; whether they arrive is known only when somebody follows a link sent there.</summary>
internal static partial class EmailAddress
{
    /// <summary>RFC 5321 section 4.5.3.1.3, a path of 256 with its brackets.</summary>
    public const int Longest = 254;

    /// <summary>An address that must be there; empty when it was not right.</summary>
    public static string ReadEmail(this FieldErrors errors, string field, string? typed)
    {
        var text = (typed ?? "").Trim();
        var problem = text.Length == 0 ? "Enter an e-mail address."
            : text.Length > Longest ? $"An e-mail address has at most {Longest} characters."
            : !Form().IsMatch(text) ? "This does not look like an e-mail address. It is like tamsin@larkfield.example."
            : "";
        if (problem.Length == 0)
        {
            return text;
        }

        errors.Add(field, problem);
        return "";
    }

    /// <summary>How somebody is reached: by e-mail, by phone, or both; empty what was not said.</summary>
    public static (string Email, string Phone) ReadReached(this FieldErrors errors, string emailField, string? email, string phoneField, string? phone)
    {
        var (hasEmail, hasPhone) = (!string.IsNullOrWhiteSpace(email), !string.IsNullOrWhiteSpace(phone));
        errors.When(!hasEmail && !hasPhone, emailField, "Enter an e-mail address or a phone number: one way to reach them will do.");
        return (hasEmail ? errors.ReadEmail(emailField, email) : "", hasPhone ? errors.ReadPhone(phoneField, phone) : "");
    }

    // HTML Living Standard, section "E-mail state"; stricter in that the domain has a dot and 64 characters at most stand before the @ (RFC 5321).
    [GeneratedRegex(@"\A[a-zA-Z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@(?:[a-zA-Z0-9](?:[a-zA-Z0-9-]{0,61}[a-zA-Z0-9])?\.)+[a-zA-Z0-9](?:[a-zA-Z0-9-]{0,61}[a-zA-Z0-9])?\z")]
    private static partial Regex Form();
}
