using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using MimeKit;
using NodaTime;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Messages;

/// <summary>Writes messages and runs the sending job, without waiting for anything.</summary>
internal static class Post
{
    public static Message Reminder(
        SchoolHost host, int number = 1, string name = "Tamsin Oakley", Instant? due = null, Instant? useless = null, Guid? about = null,
        string subject = "Your driving lesson tomorrow at 10:00", string text = "Your lesson is tomorrow at 10:00.\n",
        string kind = "reminder", IReadOnlyList<Fact>? facts = null) => new()
        {
            Key = $"reminder:{number}",
            AboutId = about ?? RowId.New(),
            Kind = kind,
            Receiver = ReceiverKind.Pupil,
            ReceiverId = RowId.New(),
            ToName = name,
            ToAddress = $"pupil{number}@larkfield.example",
            Content = LetterContent.Of(new(kind, "", Guid.Empty, Receiver.Pupil(Guid.Empty), facts ?? [Fact.Of(TypedWording.Subject, subject), Fact.Of(TypedWording.Text, text)])),
            WrittenAt = host.Clock.GetCurrentInstant(),
            DueAt = due ?? host.Clock.GetCurrentInstant(),
            UselessAt = useless,
        };

    public static MailSettings To(SmtpListener server, int timeout = 5) => new()
    {
        Host = "127.0.0.1",
        Port = server.Port,
        Security = MailSecurity.None,
        From = "post@larkfield.example",
        FromName = "Larkfield Driving School",
        TimeoutSeconds = timeout,
    };

    public static async Task RunAsync(SchoolHost host, MailSettings settings)
    {
        using var smtp = new SmtpMail(settings);
        await RunAsync(host, settings, smtp);
    }

    public static async Task RunAsync(SchoolHost host, MailSettings settings, IMailTransport transport)
    {
        await using var scope = host.Services.CreateAsyncScope();
        await ActivatorUtilities.CreateInstance<SendDueMessages>(scope.ServiceProvider, settings, transport).RunAsync(CancellationToken.None);
    }

    public static Task<Message> ReadAsync(SchoolHost host, Guid id) =>
        host.WithDbAsync(db => db.Set<Message>().AsNoTracking().SingleAsync(m => m.Id == id));

    public static Task<int> CountAsync(SchoolHost host, MessageState state) =>
        host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.State == state));
}

/// <summary>A transport that dies where a test says so.</summary>
internal sealed class Dying(IMailTransport inner, bool before, bool after) : IMailTransport
{
    internal sealed class DiedException : Exception;

    public async Task<MailAnswer> SendAsync(Guid id, MimeMessage letter)
    {
        if (before)
        {
            throw new DiedException();
        }

        var answer = await inner.SendAsync(id, letter);
        return after ? throw new DiedException() : answer;
    }
}
