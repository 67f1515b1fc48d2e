using System.Globalization;
using System.Net.Sockets;
using MailKit;
using MailKit.Net.Smtp;
using MailKit.Security;
using MimeKit;

namespace School.Web.Modules.Messages;

/// <summary>
/// Hands mail to an SMTP server (RFC 5321). 5yz to the receiver (RCPT) or to the text (DATA) is for good; to anything before,
/// it speaks of us or of the server's day, and another try may fare better.
/// </summary>
internal sealed class SmtpMail : IMailTransport, IDisposable
{
    private readonly MailSettings settings;
    private readonly SmtpStage stage = new();
    private readonly SmtpClient _client;

    public SmtpMail(MailSettings settings)
    {
        this.settings = settings;
        _client = new(stage);
    }

    public async Task<MailAnswer> SendAsync(Guid id, MimeMessage letter)
    {
        // Not the host's token: a message on its way at shutdown is finished and marked, not sent twice.
        using var limit = new CancellationTokenSource(TimeSpan.FromSeconds(settings.TimeoutSeconds));
        try
        {
            if (await ConnectAsync(limit.Token) is { } problem)
            {
                return problem;
            }

            await _client.SendAsync(letter, limit.Token);
            return MailAnswer.Taken;
        }
        catch (SmtpCommandException refused)
        {
            var reason = string.Create(CultureInfo.InvariantCulture, $"The mail server answered {(int)refused.StatusCode}: {refused.Message}");
            return (int)refused.StatusCode >= 500 && stage.AboutTheMessage
                ? new(MailResult.Refused, reason)
                : new(MailResult.NotNow, reason, ServerAway: !_client.IsConnected, OfServer: !stage.AboutTheMessage);
        }
        catch (OperationCanceledException)
        {
            return Cut($"The mail server did not answer within {settings.TimeoutSeconds} seconds.");
        }
        catch (Exception cut) when (IsOfTheLine(cut))
        {
            return Cut($"The connection to the mail server broke: {cut.Message}");
        }
        catch (NotSupportedException cannot)
        {
            return new(MailResult.Refused, $"The mail server cannot take this message: {cannot.Message}");
        }
    }

    public void Dispose() => _client.Dispose();

    /// <summary>What goes wrong before the message is offered says nothing about the message, not even a 5yz.</summary>
    private async Task<MailAnswer?> ConnectAsync(CancellationToken cancel)
    {
        if (_client.IsConnected)
        {
            return null;
        }

        try
        {
            await _client.ConnectAsync(settings.Host!, settings.PortInUse, settings.Socket, cancel);
            if (settings.User is { } user)
            {
                await _client.AuthenticateAsync(user, settings.Password ?? "", cancel);
            }

            // One command at a time: with several on their way, nobody could tell which of them was refused.
            _client.Capabilities &= ~(SmtpCapabilities.Pipelining | SmtpCapabilities.Chunking);
            return null;
        }
        catch (Exception problem) when (problem is SmtpCommandException or AuthenticationException or SslHandshakeException or NotSupportedException || IsOfTheLine(problem))
        {
            // Otherwise the next message would go out over a connection that never signed in.
            await DisconnectQuietlyAsync();
            return new(MailResult.NotNow, $"The mail server could not be used: {problem.Message}", ServerAway: true, OfServer: true);
        }
    }

    private async Task DisconnectQuietlyAsync()
    {
        if (_client.IsConnected)
        {
            await _client.DisconnectAsync(quit: false);
        }
    }

    private static bool IsOfTheLine(Exception exception) =>
        exception is ProtocolException or IOException or SocketException or ServiceNotConnectedException or ServiceNotAuthenticatedException;

    /// <summary>A line that breaks over the message may be the message's doing: it counts as one of its tries.</summary>
    private MailAnswer Cut(string reason) => new(MailResult.NotNow, reason, ServerAway: true, OfServer: !stage.AboutTheMessage);
}
