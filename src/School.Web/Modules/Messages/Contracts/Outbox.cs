using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>Writes letters in the caller's transaction; a job sends them after it is committed.</summary>
internal sealed class Outbox(SchoolDb db, AddressBooks addresses, IEnumerable<LetterKind> kinds, IClock clock)
{
    /// <summary>Keeps the letter. Where its receiver has no address when it should go, it stays as one that cannot be sent, for the office to see.</summary>
    public async Task WriteAsync(Letter letter, CancellationToken cancel)
    {
        if (await addresses.FindAsync(letter.To, cancel) is not { } to)
        {
            return;
        }

        var now = clock.GetCurrentInstant();
        db.Add(new Message
        {
            Key = letter.Key,
            AboutId = letter.About,
            Kind = letter.Kind,
            Receiver = letter.To.Kind,
            ReceiverId = letter.To.Id,
            ToName = to.Name,
            ToAddress = to.Email,
            Content = LetterContent.Of(letter),
            Proof = letter.To.Kind is ReceiverKind.Pupil && kinds.Any(kind => kind.IsProof && kind.Kind == letter.Kind),
            WrittenAt = now,
            DueAt = letter.DueAt ?? now,
            UselessAt = letter.UselessAt,
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
