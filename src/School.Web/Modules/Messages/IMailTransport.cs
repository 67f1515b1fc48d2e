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

/// <summary>What became of handing one message over. <c>ServerAway</c>: the next message would fare no better just now.</summary>
internal sealed record MailAnswer(MailResult Result, string Reason = "", bool ServerAway = false)
{
    public static MailAnswer Taken { get; } = new(MailResult.Taken);
}

/// <summary>Hands mail over to whoever delivers it. One lives as long as one run of the job, and may keep its connection that long.</summary>
internal interface IMailTransport
{
    Task<MailAnswer> SendAsync(Guid id, MimeMessage letter);
}
