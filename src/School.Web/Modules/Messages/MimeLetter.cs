using System.Text;
using MimeKit;
using MimeKit.Utils;
using NodaTime;
using School.Web.Modules.Messages.Writing;

namespace School.Web.Modules.Messages;

/// <summary>The one place where a message becomes mail (RFC 5322, with MIME parts by RFC 2046).</summary>
internal static class MimeLetter
{
    private static readonly ParserOptions Strict = new()
    {
        AddressParserComplianceMode = RfcComplianceMode.Strict,
        AllowAddressesWithoutDomain = false,
        AllowUnquotedCommasInAddresses = false,
    };

    /// <summary>One plain address: no name, no group, no list, no control characters.</summary>
    public static bool IsAddress(string text) =>
        !text.Any(char.IsControl) && MailboxAddress.TryParse(Strict, text, out var mailbox) && mailbox.Address == text && mailbox.Route.Count == 0;

    /// <summary>Null where the recipient's address is not one.</summary>
    public static MimeMessage? Of(Message message, MadeLetter made, string from, string fromName, Instant now)
    {
        if (!IsAddress(message.ToAddress))
        {
            return null;
        }

        var letter = new MimeMessage
        {
            // The same at every try, so that a repeat is recognised as one (RFC 5322 section 3.6.4).
            MessageId = $"{message.Id}@{from[(from.LastIndexOf('@') + 1)..]}",
            Subject = OneLine(made.Subject),
            Body = new BodyBuilder { TextBody = made.Text, HtmlBody = made.Html }.ToMessageBody(),
        };
#pragma warning disable RS0030 // MimeKit wants the framework's type.
        letter.Date = now.ToDateTimeOffset();
#pragma warning restore RS0030
        letter.From.Add(new MailboxAddress(OneLine(fromName), from));
        letter.To.Add(new MailboxAddress(OneLine(message.ToName), message.ToAddress));
        // Keeps holiday answers away (RFC 3834 section 5).
        letter.Headers.Add(HeaderId.AutoSubmitted, "auto-generated");
        return letter;
    }

    /// <summary>A line break in a name would begin a header of the writer's choosing; other control and direction marks only mislead.</summary>
    private static string OneLine(string text)
    {
        var line = new StringBuilder(text.Length);
        foreach (var rune in text.EnumerateRunes())
        {
            line.Append(Rune.IsControl(rune) || rune.Value is 0x2028 or 0x2029 ? " " : IsOverride(rune) ? "" : rune.ToString());
        }

        return string.Join(' ', line.ToString().Split(' ', StringSplitOptions.RemoveEmptyEntries));
    }

    private static bool IsOverride(Rune rune) => rune.Value is (>= 0x202A and <= 0x202E) or (>= 0x2066 and <= 0x2069);
}
