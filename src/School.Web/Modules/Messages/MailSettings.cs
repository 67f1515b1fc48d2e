using MailKit.Security;
using MimeKit;

namespace School.Web.Modules.Messages;

internal enum MailSecurity
{
    /// <summary>In clear: for a mail server on this machine.</summary>
    None,

    /// <summary>In clear at first, encrypted before anything is said; refuses to go on where the server cannot.</summary>
    StartTls,

    Tls,
}

/// <summary>The section <c>Mail</c> of the settings. Without a host, mail goes to a folder.</summary>
internal sealed record MailSettings
{
    public string? Host { get; init; }

    /// <summary>By default 587 with STARTTLS and 465 with TLS (RFC 8314 section 3), 25 in clear.</summary>
    public int? Port { get; init; }

    public MailSecurity Security { get; init; } = MailSecurity.StartTls;

    public string? User { get; init; }

    public string? Password { get; init; }

    public string? From { get; init; }

    /// <summary>The school's name when null.</summary>
    public string? FromName { get; init; }

    /// <summary>Where mail goes that no server takes; <c>mail</c> in the data folder by default.</summary>
    public string? Folder { get; init; }

    /// <summary>
    /// For one message in all. Too short a wait after the text has been handed over means a second copy: RFC 5321 section
    /// 4.5.3.2.6 allows a server ten minutes, those that take mail from programs answer in seconds.
    /// </summary>
    public int TimeoutSeconds { get; init; } = 60;

    public bool HasServer => !string.IsNullOrWhiteSpace(Host);

    public int PortInUse => Port ?? (Security switch { MailSecurity.None => 25, MailSecurity.StartTls => 587, _ => 465 });

    public SecureSocketOptions Socket => Security switch
    {
        MailSecurity.None => SecureSocketOptions.None,
        MailSecurity.StartTls => SecureSocketOptions.StartTls,
        _ => SecureSocketOptions.SslOnConnect,
    };

    /// <summary>Reads and checks the section; a mistake stops the start, before mail is lost to it.</summary>
    public static MailSettings Read(IConfiguration configuration)
    {
        var settings = configuration.GetSection("Mail").Get<MailSettings>() ?? new();
        if (settings.HasServer && settings.From is null)
        {
            throw new InvalidOperationException("Mail:Host is set but Mail:From is not. Set Mail:From to the address that mail comes from.");
        }

        if (settings.From is { } from && !MimeLetter.IsAddress(from))
        {
            throw new InvalidOperationException("Mail:From is not one mail address.");
        }

        if (settings.TimeoutSeconds is < 1 or > 600)
        {
            throw new InvalidOperationException("Mail:TimeoutSeconds is between 1 and 600.");
        }

        if (settings is { Security: MailSecurity.None, User: not null } && !IsThisMachine(settings.Host))
        {
            throw new InvalidOperationException("Mail:User would send its password in clear. Set Mail:Security to starttls or tls.");
        }

        return settings;
    }

    private static bool IsThisMachine(string? host) => host is null or "localhost" or "127.0.0.1" or "::1";
}
