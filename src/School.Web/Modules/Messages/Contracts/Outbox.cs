using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>A message to write: its natural key makes sure that it is written once.</summary>
internal sealed record MessageDraft(string Key, Guid AboutId, string Kind, string ToName, string ToAddress, string Subject, string Text, string Html)
{
    public Guid? ToPersonId { get; init; }

    /// <summary>Now when null.</summary>
    public Instant? DueAt { get; init; }

    public Instant? UselessAt { get; init; }
}

/// <summary>Writes messages in the caller's transaction; jobs send them after it is committed.</summary>
internal sealed class Outbox(SchoolDb db, IClock clock)
{
    public void Write(MessageDraft draft)
    {
        var now = clock.GetCurrentInstant();
        db.Add(new Message
        {
            Key = draft.Key,
            AboutId = draft.AboutId,
            Kind = draft.Kind,
            ToPersonId = draft.ToPersonId,
            ToName = draft.ToName,
            ToAddress = draft.ToAddress,
            Subject = draft.Subject,
            Text = draft.Text,
            Html = draft.Html,
            WrittenAt = now,
            DueAt = draft.DueAt ?? now,
            UselessAt = draft.UselessAt,
        });
    }

    /// <summary>Which of some keys are written already.</summary>
    public async Task<IReadOnlySet<string>> WrittenAsync(IReadOnlyCollection<string> keys, CancellationToken cancel) =>
        (await db.Set<Message>().Where(m => keys.Contains(m.Key)).Select(m => m.Key).ToListAsync(cancel)).ToHashSet(StringComparer.Ordinal);

    /// <summary>Withdraws what still waits about something, so that nothing outdated goes out.</summary>
    public Task WithdrawAsync(Guid aboutId, IReadOnlyCollection<string> kinds, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        return db.Set<Message>()
            .Where(m => m.AboutId == aboutId && kinds.Contains(m.Kind) && m.State == MessageState.Waiting)
            .ExecuteUpdateAsync(set => set.SetProperty(m => m.State, MessageState.Withdrawn).SetProperty(m => m.ClosedAt, now), cancel);
    }
}
