using System.Globalization;
using System.Net.Sockets;
using MailKit;
using MailKit.Net.Smtp;
using MailKit.Security;
using MimeKit;

namespace School.Web.Modules.Messages;

/// <summary>Hands mail to an SMTP server (RFC 5321): 5yz to the message is for good, everything else may be tried again.</summary>
internal sealed class SmtpMail(MailSettings settings) : IMailTransport, IDisposable
{
    private readonly SmtpClient _client = new();

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
            return (int)refused.StatusCode >= 500 ? new(MailResult.Refused, reason) : new(MailResult.NotNow, reason, ServerAway: !_client.IsConnected);
        }
        catch (OperationCanceledException)
        {
            return Away($"The mail server did not answer within {settings.TimeoutSeconds} seconds.");
        }
        catch (Exception cut) when (IsOfTheLine(cut))
        {
            return Away($"The connection to the mail server broke: {cut.Message}");
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

            return null;
        }
        catch (Exception problem) when (problem is SmtpCommandException or AuthenticationException or SslHandshakeException or NotSupportedException || IsOfTheLine(problem))
        {
            // Otherwise the next message would go out over a connection that never signed in.
            await DisconnectQuietlyAsync();
            return Away($"The mail server could not be used: {problem.Message}");
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

    private static MailAnswer Away(string reason) => new(MailResult.NotNow, reason, ServerAway: true);
}
