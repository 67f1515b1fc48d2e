using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Writing;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>A message that was given up, for the list of what needs attention.</summary>
internal sealed record FailedMessage(Guid Id, string ToName, string Subject, string Reason, Instant At);

internal sealed class MessageQueries(SchoolDb db, LetterMaker maker, SchoolInfo school)
{
    private const int Most = 100;

    /// <summary>Messages that were given up, newest first; at most a hundred.</summary>
    public async Task<IReadOnlyList<FailedMessage>> FailedAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var failed = await db.Set<Message>().AsNoTracking().Where(m => m.State == MessageState.Failed).OrderByDescending(m => m.ClosedAt).Take(Most)
            .ToListAsync(cancel);
        return failed.ConvertAll(m => new FailedMessage(m.Id, m.ToName, maker.SubjectOf(m, facts), m.LastProblem, m.ClosedAt!.Value));
    }
}
