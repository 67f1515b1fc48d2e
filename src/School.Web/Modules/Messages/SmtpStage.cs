using System.Text;
using MailKit;

namespace School.Web.Modules.Messages;

/// <summary>Listens to what is said to the server, to know what an answer was the answer to: the library's exceptions do not tell.</summary>
internal sealed class SmtpStage : IProtocolLogger
{
    private bool inText;

    /// <summary>Whether the receiver or the text has been offered: an answer before that says nothing of the message.</summary>
    public bool AboutTheMessage { get; private set; }

    public IAuthenticationSecretDetector? AuthenticationSecretDetector { get; set; }

    public void LogConnect(Uri uri) => (AboutTheMessage, inText) = (false, false);

    public void LogClient(byte[] buffer, int offset, int count)
    {
        // What follows DATA is the letter: a line in it that looks like a command is none.
        if (inText)
        {
            return;
        }

        var said = Encoding.ASCII.GetString(buffer, offset, Math.Min(count, 5));
        if (said.StartsWith("DATA", StringComparison.OrdinalIgnoreCase))
        {
            (AboutTheMessage, inText) = (true, true);
        }
        else if (said.StartsWith("RCPT", StringComparison.OrdinalIgnoreCase))
        {
            AboutTheMessage = true;
        }
        else if (!said.StartsWith("RSET", StringComparison.OrdinalIgnoreCase))
        {
            // The library takes back by RSET what was refused, before it says so.
            AboutTheMessage = false;
        }
    }

    public void LogServer(byte[] buffer, int offset, int count)
    {
        // 354 asks for the text; any other answer to DATA, and the answer to the text itself, ends it.
        if (inText && !(count >= 3 && Encoding.ASCII.GetString(buffer, offset, 3) == "354"))
        {
            inText = false;
        }
    }

    public void Dispose()
    {
    }
}
