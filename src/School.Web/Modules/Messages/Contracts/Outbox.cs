using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>Writes letters in the caller's transaction; a job sends them after it is committed.</summary>
internal sealed class Outbox(SchoolDb db, AddressBooks addresses, IEnumerable<LetterKind> kinds, ICopyLetters copies, IClock clock)
{
    /// <summary>Keeps the letter. Where its receiver has no address when it should go, it stays as one that cannot be sent, for the office to see.</summary>
    public async Task WriteAsync(Letter letter, CancellationToken cancel)
    {
        if (await addresses.FindAsync(letter.To, cancel) is not { } to)
        {
            return;
        }

        var kind = kinds.FirstOrDefault(kind => kind.Kind == letter.Kind);
        Add(letter, to, letter.To.Kind is ReceiverKind.Pupil && kind is { IsProof: true });
        if (letter.To.Kind is not ReceiverKind.Pupil || kind is not { IsCopied: true })
        {
            return;
        }

        var (name, contacts) = await copies.OfAsync(letter.To.Id, cancel);
        foreach (var contact in contacts)
        {
            // Whoever has no e-mail address would only stand among the letters that cannot be sent.
            if (await addresses.FindAsync(Receiver.Contact(contact), cancel) is { Email.Length: > 0 } beside)
            {
                Add(LetterCopy.Of(letter, name, contact, kind.Money), beside, proof: false);
            }
        }
    }

    private void Add(Letter letter, Addressee to, bool proof)
    {
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
            Proof = proof,
            WrittenAt = now,
            DueAt = letter.DueAt ?? now,
            UselessAt = letter.UselessAt,
        });
    }

    /// <summary>Which of some keys are written already.</summary>
    public async Task<IReadOnlySet<string>> WrittenAsync(IReadOnlyCollection<string> keys, CancellationToken cancel) =>
        (await db.Set<Message>().Where(m => keys.Contains(m.Key)).Select(m => m.Key).ToListAsync(cancel)).ToHashSet(StringComparer.Ordinal);

    /// <summary>Withdraws the copies of a pupil's letters that still wait, or could be sent again, for somebody who is to get no more of them.</summary>
    public async Task WithdrawCopiesAsync(Guid pupilId, Guid contactId, CancellationToken cancel)
    {
        var waiting = await db.Set<Message>().AsNoTracking()
            .Where(m => m.Receiver == ReceiverKind.Contact && m.ReceiverId == contactId && (m.State == MessageState.Waiting || m.State == MessageState.Failed)).ToListAsync(cancel);
        var (ids, now) = (waiting.Where(m => LetterCopy.IsOf(m, pupilId)).Select(m => m.Id).ToArray(), clock.GetCurrentInstant());
        if (ids.Length > 0)
        {
            await db.Set<Message>().Where(m => ids.Contains(m.Id) && (m.State == MessageState.Waiting || m.State == MessageState.Failed))
                .ExecuteUpdateAsync(set => set.SetProperty(m => m.State, MessageState.Withdrawn).SetProperty(m => m.ClosedAt, now), cancel);
        }
    }

    /// <summary>Withdraws what still waits about something, so that nothing outdated goes out.</summary>
    public Task WithdrawAsync(Guid aboutId, IReadOnlyCollection<string> kinds, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        return db.Set<Message>()
            .Where(m => m.AboutId == aboutId && kinds.Contains(m.Kind) && m.State == MessageState.Waiting)
            .ExecuteUpdateAsync(set => set.SetProperty(m => m.State, MessageState.Withdrawn).SetProperty(m => m.ClosedAt, now), cancel);
    }
}
