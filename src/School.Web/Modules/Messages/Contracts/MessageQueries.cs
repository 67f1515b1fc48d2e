using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>A message that was given up, for the list of what needs attention.</summary>
internal sealed record FailedMessage(Guid Id, string ToName, string Subject, string Reason, Instant At);

internal sealed class MessageQueries(SchoolDb db)
{
    private const int Most = 100;

    /// <summary>Messages that were given up, newest first; at most a hundred.</summary>
    public async Task<IReadOnlyList<FailedMessage>> FailedAsync(CancellationToken cancel) =>
        await db.Set<Message>().AsNoTracking().Where(m => m.State == MessageState.Failed).OrderByDescending(m => m.ClosedAt).Take(Most)
            .Select(m => new FailedMessage(m.Id, m.ToName, m.Subject, m.LastProblem, m.ClosedAt!.Value)).ToListAsync(cancel);
}
