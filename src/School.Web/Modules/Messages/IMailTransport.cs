using MimeKit;

namespace School.Web.Modules.Messages;

internal enum MailResult
{
    Taken,

    /// <summary>Not now; another try may succeed.</summary>
    NotNow,

    /// <summary>Never: another try would be answered the same.</summary>
    Refused,
}

/// <summary>What became of handing one message over.</summary>
/// <param name="Result">Whether it went, and if not, whether it ever may.</param>
/// <param name="Reason">The server's answer or the trouble, for the office.</param>
/// <param name="ServerAway">The next message would fare no better just now.</param>
/// <param name="OfServer">It says nothing of this message: the server was not there, or would take nothing from us. No message is given up for that.</param>
internal sealed record MailAnswer(MailResult Result, string Reason = "", bool ServerAway = false, bool OfServer = false)
{
    public static MailAnswer Taken { get; } = new(MailResult.Taken);
}

/// <summary>Hands mail over to whoever delivers it. One lives as long as one run of the job, and may keep its connection that long.</summary>
internal interface IMailTransport
{
    Task<MailAnswer> SendAsync(Guid id, MimeMessage letter);
}
