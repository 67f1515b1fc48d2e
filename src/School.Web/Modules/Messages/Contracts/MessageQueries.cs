using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>A message that was given up, for the list of what needs attention.</summary>
internal sealed record FailedMessage(Guid Id, string ToName, string Subject, string Reason, Instant At);

/// <summary>Messages that should have gone and wait: how many, and since when the oldest is due.</summary>
internal sealed record LateMessages(int Count, Instant Since);

internal sealed class MessageQueries(SchoolDb db, LetterMaker maker, Letterheads heads, IClock clock)
{
    private const int Most = 100;

    /// <summary>The sending job runs every few seconds and puts off what it cannot send: what is due for longer, nobody looked at.</summary>
    private static readonly Duration Grace = Duration.FromMinutes(5);

    /// <summary>What is overdue by more than five minutes; null when nothing is.</summary>
    public async Task<LateMessages?> LateAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var since = now - Grace;
        return await db.Set<Message>().Where(m => m.State == MessageState.Waiting && m.DueAt <= since && (m.UselessAt == null || m.UselessAt > now))
            .GroupBy(_ => 1).Select(late => new LateMessages(late.Count(), late.Min(m => m.DueAt))).SingleOrDefaultAsync(cancel);
    }

    /// <summary>Messages that were given up, newest first; at most a hundred.</summary>
    public async Task<IReadOnlyList<FailedMessage>> FailedAsync(CancellationToken cancel)
    {
        var head = await heads.NowAsync(cancel);
        var failed = await db.Set<Message>().AsNoTracking().Where(m => m.State == MessageState.Failed).OrderByDescending(m => m.ClosedAt).Take(Most)
            .ToListAsync(cancel);
        return failed.ConvertAll(m => new FailedMessage(m.Id, m.ToName, maker.SubjectOf(m, head), m.LastProblem, m.ClosedAt!.Value));
    }
}
