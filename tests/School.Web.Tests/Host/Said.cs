using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Web.Modules.Messages;

namespace School.Web.Tests.Host;

/// <summary>A kept message with what it says, as its reader would see it.</summary>
internal sealed record Said(Message Row, string Subject, string Text, string Html)
{
    public string Key => Row.Key;

    public Guid AboutId => Row.AboutId;

    public string Kind => Row.Kind;

    public string ToName => Row.ToName;

    public string ToAddress => Row.ToAddress;

    public MessageState State => Row.State;

    public Instant DueAt => Row.DueAt;

    public Instant? UselessAt => Row.UselessAt;
}

internal static class SaidMessages
{
    /// <summary>The messages of a query, in its order.</summary>
    public static async Task<List<Said>> SaidAsync(this SchoolHost host, Func<IQueryable<Message>, IQueryable<Message>> which)
    {
        var rows = await host.WithDbAsync(db => which(db.Set<Message>().AsNoTracking()).ToListAsync());
        await using var scope = host.Services.CreateAsyncScope();
        var list = scope.ServiceProvider.GetRequiredService<MessageList>();
        var said = new List<Said>();
        foreach (var row in rows)
        {
            var read = await list.ReadAsync(row, CancellationToken.None);
            said.Add(new(row, read.Says.Subject, read.Says.Text, read.Says.Html));
        }

        return said;
    }
}
