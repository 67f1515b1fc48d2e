using Hangfire;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages;

/// <summary>
/// Sends what is due: claims a row, sends it, marks it, and takes the next. Any number of workers on any number of nodes may
/// run it at once. A worker that dies between sending and marking lets the claim lapse, and the message goes again with the
/// same Message-ID; one that dies earlier has sent nothing. None is lost.
/// </summary>
internal sealed class SendDueMessages(
    SchoolDb db, IMailTransport transport, MailSettings settings, LetterMaker maker, AddressBooks addresses, Letterheads heads, IEnumerable<IHeedSent> heeders, ICopyLetters copies, IClock clock,
    ILogger<SendDueMessages> logger)
{
    public const string Job = "send-due-messages";

    /// <summary>So often a message itself is tried, over about fourteen hours. Tries that a server which is away or takes nothing turns down have no limit.</summary>
    public const int Tries = 12;

    /// <summary>Why a letter to somebody without an address stays here.</summary>
    public const string NoAddress = "There is no e-mail address to send it to.";

    private const string NoDomain = "school.invalid";
    private static readonly Duration LongestDelay = Duration.FromHours(2);
    private static readonly Duration LongestWaitForServer = Duration.FromMinutes(10);

    /// <summary>Longer than a try can last, so that no claim lapses while its message is being sent.</summary>
    private Duration Claim => Duration.FromSeconds(settings.TimeoutSeconds) + Duration.FromMinutes(5);

    /// <summary>
    /// Runs until nothing is due, the mail server is away, or it turned down two messages in a row before it looked at either: a third
    /// would hear it too, and a server that asks for patience gets some. The next run is the retry, so a failed one is forgotten.</summary>
    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunAsync(CancellationToken cancel)
    {
        await WithdrawUselessAsync(cancel);
        var head = await heads.NowAsync(cancel);
        var from = settings.From ?? (MimeLetter.IsAddress(head.Email) ? head.Email : $"school@{NoDomain}");
        int? headId = null;
        var before = MailAnswer.Taken;
        while (!cancel.IsCancellationRequested && await ClaimAsync(cancel) is { } message)
        {
            if (message.Receiver is ReceiverKind.Contact && !await GetsCopiesAsync(message, cancel))
            {
                await WithdrawAsync(message);
                continue;
            }

            await FindReceiverAsync(message, cancel);
            var made = maker.Of(message, head);
            // Kept before it goes, so that none has gone of which it is not known how it was worded.
            headId ??= await heads.KeepAsync(head, cancel);
            var letter = MimeLetter.Of(message, made, from, settings.FromName ?? head.Name, clock.GetCurrentInstant());
            var answer = made.Unread ? new(MailResult.NotNow, "Another release of the service wrote this letter, in a form that this one does not know.")
                : message.ToAddress.Length == 0 ? new(MailResult.Refused, NoAddress)
                : letter is null ? new(MailResult.Refused, "This is not a mail address.")
                : await transport.SendAsync(message.Id, letter);
            letter?.Dispose();
            // What was sent must be marked, also when the service is stopping: hence no token.
            await MarkAsync(message, answer, headId.Value, made.Digest());
            if (answer.ServerAway || (answer.OfServer && before.OfServer))
            {
                break;
            }

            before = answer;
        }
    }

    /// <summary>1, 3, 9, 27, 81 minutes, then every two hours.</summary>
    internal static Duration DelayAfter(int tries) =>
        Duration.Min(Duration.FromMinutes((long)Math.Pow(3, Math.Min(tries, 10) - 1)), LongestDelay);

    private async Task WithdrawUselessAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        await db.AloneAsync(
            () => db.Set<Message>()
                .Where(m => m.State == MessageState.Waiting && m.UselessAt <= now && (m.ClaimedUntil == null || m.ClaimedUntil <= now))
                .ExecuteUpdateAsync(set => set.SetProperty(m => m.State, MessageState.Withdrawn).SetProperty(m => m.ClosedAt, now), cancel),
            cancel);
    }

    /// <summary>One at a time, so that a message withdrawn meanwhile is not among those that a worker holds already.</summary>
    private async Task<Message?> ClaimAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var until = now + Claim;
        // No clock that is right claims so far ahead: who did had a wrong one, and may be gone.
        var nonsense = now + Claim + Claim;
        var claimed = await db.AloneAsync(
            () => db.Set<Message>().FromSql(
                $"""
                 UPDATE messages.messages SET claimed_until = {until}
                 WHERE id = (
                     SELECT id FROM messages.messages
                     WHERE state = 'Waiting' AND due_at <= {now} AND (claimed_until IS NULL OR claimed_until <= {now} OR claimed_until > {nonsense})
                         AND (useless_at IS NULL OR useless_at > {now})
                     ORDER BY due_at LIMIT 1 FOR UPDATE SKIP LOCKED)
                 RETURNING *
                 """).AsNoTracking().ToListAsync(cancel),
            cancel);
        return claimed.SingleOrDefault();
    }

    /// <summary>Whether a copy may still go: whoever wrote it may not have known yet that the pupil had taken it back, or that the address was.</summary>
    private async Task<bool> GetsCopiesAsync(Message message, CancellationToken cancel) =>
        LetterCopy.PupilOf(message) is { } pupil && (await copies.OfAsync(pupil, cancel)).Contacts.Contains(message.ReceiverId)
        && await addresses.FindAsync(Receiver.Contact(message.ReceiverId), cancel) is { Email.Length: > 0 };

    private async Task WithdrawAsync(Message message)
    {
        var now = clock.GetCurrentInstant();
        await db.AloneAsync(
            () => db.Set<Message>().Where(m => m.Id == message.Id && m.State == MessageState.Waiting).ExecuteUpdateAsync(
                set => set.SetProperty(m => m.State, MessageState.Withdrawn).SetProperty(m => m.ClosedAt, now).SetProperty(m => m.ClaimedUntil, (Instant?)null)),
            CancellationToken.None);
    }

    /// <summary>It goes where its receiver is reached now, not where they were when it was written.</summary>
    private async Task FindReceiverAsync(Message message, CancellationToken cancel)
    {
        if (await addresses.FindAsync(new(message.Receiver, message.ReceiverId), cancel) is { Email.Length: > 0 } to && (to.Name, to.Email) != (message.ToName, message.ToAddress))
        {
            (message.ToName, message.ToAddress) = (to.Name, to.Email);
            await db.AloneAsync(
                () => db.Set<Message>().Where(m => m.Id == message.Id)
                    .ExecuteUpdateAsync(set => set.SetProperty(m => m.ToName, to.Name).SetProperty(m => m.ToAddress, to.Email), cancel),
                cancel);
        }
    }

    private async Task MarkAsync(Message message, MailAnswer answer, int headId, byte[] digest)
    {
        var now = clock.GetCurrentInstant();
        // What the server did is not the message's doing: most of its tries are left for when it has its turn.
        var tries = answer.OfServer ? Math.Max(message.Tries, Math.Min(message.Tries + 1, Tries / 2)) : message.Tries + 1;
        if (answer.Result == MailResult.Taken)
        {
            // Before the message is marked: whoever dies in between sends it again, and then this is written again.
            // A copy says nothing about whether the pupil was told.
            foreach (var heeder in heeders.Where(heeder => heeder.Kind == message.Kind && message.Receiver != ReceiverKind.Contact))
            {
                await heeder.WentAsync(message.AboutId, message.Key, now, CancellationToken.None);
            }

            // Even if it was withdrawn while on its way: it has gone.
            await db.AloneAsync(
                () => db.Set<Message>().Where(m => m.Id == message.Id).ExecuteUpdateAsync(set => set
                    .SetProperty(m => m.State, MessageState.Sent).SetProperty(m => m.ClosedAt, now).SetProperty(m => m.Tries, tries)
                    .SetProperty(m => m.LastProblem, "").SetProperty(m => m.ClaimedUntil, (Instant?)null)
                    .SetProperty(m => m.LetterheadId, headId).SetProperty(m => m.SentDigest, digest)),
                CancellationToken.None);
            return;
        }

        var giveUp = answer.Result == MailResult.Refused || (tries >= Tries && !answer.OfServer);
        var state = giveUp ? MessageState.Failed : MessageState.Waiting;
        var closed = giveUp ? now : (Instant?)null;
        var due = giveUp ? message.DueAt : now + (answer.OfServer ? Duration.Min(DelayAfter(tries), LongestWaitForServer) : DelayAfter(tries));
        await db.AloneAsync(
            () => db.Set<Message>().Where(m => m.Id == message.Id && m.State == MessageState.Waiting).ExecuteUpdateAsync(set => set
                .SetProperty(m => m.State, state).SetProperty(m => m.ClosedAt, closed).SetProperty(m => m.DueAt, due).SetProperty(m => m.Tries, tries)
                .SetProperty(m => m.LastProblem, answer.Reason).SetProperty(m => m.ClaimedUntil, (Instant?)null)),
            CancellationToken.None);
        Log.NotSent(logger, message.Id, tries, state);
    }
}

internal static partial class Log
{
    // No address and no server's words: they may name people.
    [LoggerMessage(Level = LogLevel.Warning, Message = "Message {Id} was not sent at try {Tries}; it is {State} now")]
    public static partial void NotSent(ILogger logger, Guid id, int tries, MessageState state);
}
