using System.Text;
using MimeKit;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;

namespace School.Web.Tests.Messages;

/// <summary>Messages as they arrive, after a whole trip through SMTP.</summary>
public sealed class LetterTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_letter_has_the_headers_that_the_standards_ask_for()
    {
        var (letter, raw, message) = await SentAsync(h => Post.Reminder(h));

        // RFC 5322 section 3.6: Date and From are a must, each header of these at most once; section 3.6.4: Message-ID is unique.
        foreach (var name in new[] { "Date:", "From:", "To:", "Subject:", "Message-Id:", "MIME-Version:", "Auto-Submitted:" })
        {
            Assert.Single(HeaderLines(raw), line => line.StartsWith(name, StringComparison.OrdinalIgnoreCase));
        }

        Assert.Equal($"{message.Id}@larkfield.example", letter.MessageId);
        Assert.Equal("Mon, 02 Mar 2026 08:00:00 +0000", letter.Headers[HeaderId.Date]);
        Assert.Equal("Larkfield Driving School", letter.From.Mailboxes.Single().Name);
        Assert.Equal("post@larkfield.example", letter.From.Mailboxes.Single().Address);
        // RFC 3834 section 5.
        Assert.Equal("auto-generated", letter.Headers[HeaderId.AutoSubmitted]);
        // RFC 5322 section 2.1.1: no line over 998 octets, lines end in CRLF.
        Assert.DoesNotContain(Encoding.Latin1.GetString(raw).Split("\r\n"), line => line.Length > 998 || line.Contains('\n', StringComparison.Ordinal));
    }

    /// <summary>RFC 2046 section 5.1.4: alternatives stand in the order of increasing faithfulness.</summary>
    [Fact]
    public async Task A_letter_has_a_text_and_an_html_part()
    {
        var (letter, _, _) = await SentAsync(h => Post.Reminder(h));

        var parts = Assert.IsType<MultipartAlternative>(letter.Body);
        Assert.Equal(["text/plain", "text/html"], parts.Select(p => p.ContentType.MimeType));
        Assert.Equal("Your lesson is tomorrow at 10:00.\n", letter.TextBody!.ReplaceLineEndings("\n"));
        Assert.Contains("<p>Your lesson is tomorrow at 10:00.</p>", letter.HtmlBody!, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Tamsin\r\nBcc: everybody@larkfield.example")]
    [InlineData("Tamsin\nBcc: everybody@larkfield.example")]
    [InlineData("Tamsin\r\n\r\n<p>another body</p>")]
    [InlineData("Tamsin\u2028Bcc: everybody@larkfield.example")]
    [InlineData("Tamsin\u0085Bcc: everybody@larkfield.example")]
    [InlineData("Tamsin\" <other@larkfield.example>, \"x")]
    [InlineData("Tamsin <other@larkfield.example>, ")]
    public async Task A_hostile_name_adds_no_header_and_no_recipient(string name)
    {
        var (letter, raw, _) = await SentAsync(h => Post.Reminder(h, name: name, subject: $"A lesson for {name}"));

        Assert.DoesNotContain(HeaderLines(raw), line => line.StartsWith("Bcc", StringComparison.OrdinalIgnoreCase));
        Assert.Equal("pupil1@larkfield.example", Assert.Single(letter.To.Mailboxes).Address);
        Assert.Empty(letter.Cc);
        Assert.DoesNotContain("<p>another body", letter.HtmlBody!, StringComparison.Ordinal);
        Assert.DoesNotContain(letter.Subject!, char.IsControl);
    }

    [Theory]
    [InlineData("Zoë 🚗 O’Hara")]
    [InlineData("شهرزاد")]
    [InlineData("👩‍👧 Ōtsuka, the \"quick\"")]
    public async Task A_name_in_any_script_arrives_as_it_was_written(string name)
    {
        var (letter, raw, _) = await SentAsync(h => Post.Reminder(h, name: name, subject: $"Lesson: {name}"));

        Assert.Equal(name, letter.To.Mailboxes.Single().Name);
        Assert.Equal($"Lesson: {name}", letter.Subject);
        // RFC 5322 section 2.2: headers are ASCII; RFC 2047 carries the rest.
        Assert.All(HeaderLines(raw), line => Assert.True(Ascii.IsValid(line), line));
    }

    [Theory]
    [InlineData("pupil1@larkfield.example", true)]
    [InlineData("first.last+lessons@mail.larkfield.example", true)]
    [InlineData("", false)]
    [InlineData("nobody", false)]
    [InlineData("a@larkfield.example, b@larkfield.example", false)]
    [InlineData("Tamsin <a@larkfield.example>", false)]
    [InlineData("friends: a@larkfield.example;", false)]
    [InlineData("a@larkfield.example\r\nRCPT TO:<b@larkfield.example>", false)]
    public void Only_one_plain_address_is_an_address(string text, bool isOne) => Assert.Equal(isOne, MimeLetter.IsAddress(text));

    [Fact]
    public async Task A_dot_alone_on_a_line_does_not_end_the_message()
    {
        var (letter, _, _) = await SentAsync(h => Post.Reminder(h, text: "before\n.\nMAIL FROM:<x@larkfield.example>\n..after\n"));

        Assert.Equal("before\n.\nMAIL FROM:<x@larkfield.example>\n..after\n", letter.TextBody!.ReplaceLineEndings("\n"));
    }

    private async Task<(MimeMessage Letter, byte[] Raw, Message Message)> SentAsync(Func<SchoolHost, Message> make)
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = make(host);
        await host.AddAsync(message);
        await Post.RunAsync(host, Post.To(server));
        return (Assert.Single(server.Letters), server.Taken[0], message);
    }

    private static string[] HeaderLines(byte[] raw) => Encoding.UTF8.GetString(raw).Split("\r\n\r\n")[0].Split("\r\n");
}
