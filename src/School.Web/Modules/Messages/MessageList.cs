using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Messages;

/// <summary>A message with what it says.</summary>
internal sealed record ReadMessage(Message Row, MadeLetter Says)
{
    /// <summary>Whether these are the very words that went; null where that cannot be told.</summary>
    public bool? AsSent => Row.Content is null || Row.SentDigest is not { } sent ? null : sent.AsSpan().SequenceEqual(Says.Digest());
}

/// <summary>The messages, newest first, for page and API.</summary>
internal sealed class MessageList(SchoolDb db, LetterMaker maker, Letterheads heads, MailSettings settings, IClock clock)
{
    public async Task<Outcome<Page<T>>> ReadAsync<T>(string? state, int? limit, string? cursor, Func<Message, string, T> shape, CancellationToken cancel, Action<ReadTogether>? beside = null)
    {
        var rows = db.Set<Message>().AsNoTracking();
        if (!string.IsNullOrEmpty(state))
        {
            if (!Enum.TryParse<MessageState>(state, ignoreCase: true, out var wanted) || !Enum.IsDefined(wanted))
            {
                return Refusal.Invalid("state", "Choose waiting, sent, failed or withdrawn.");
            }

            // Said apart, so that the index of those that did not go is seen to serve.
            rows = wanted is MessageState.Sent ? rows.Where(m => m.State == MessageState.Sent) : rows.Where(m => m.State != MessageState.Sent && m.State == wanted);
        }

        var together = new ReadTogether(db);
        beside?.Invoke(together);
        var kept = heads.Ahead(together);
        var page = await rows.PageNewestAsync(limit, cursor, m => m.Id, row => row, cancel, together);
        if (!page.Ok)
        {
            return page.Refusal;
        }

        var headOf = await heads.OfAsync(kept.All, cancel);
        return new Page<T>([.. page.Value.Items.Select(row => shape(row, maker.SubjectOf(row, headOf(row))))], page.Value.Next);
    }

    public async Task<ReadMessage?> FindAsync(Guid id, CancellationToken cancel) =>
        await db.Set<Message>().AsNoTracking().SingleOrDefaultAsync(m => m.Id == id, cancel) is { } row ? await ReadAsync(row, cancel) : null;

    /// <summary>What it says: one that went in the words in which it went, another in those of today.</summary>
    public async Task<ReadMessage> ReadAsync(Message row, CancellationToken cancel) => new(row, maker.Of(row, (await heads.OfAllAsync(cancel))(row)));

    /// <summary>How many were given up and could still be sent, as a part of what is read together.</summary>
    public Func<int> Failed(ReadTogether together)
    {
        var now = clock.GetCurrentInstant();
        var count = together.Ask(db.Set<Message>().Where(m => m.State == MessageState.Failed && (m.UselessAt == null || m.UselessAt > now)).GroupBy(_ => 1).Select(all => all.Count()));
        return () => count.All.SingleOrDefault();
    }

    /// <summary>Whether the office reads what it says on the page. Without a mail server this is the only way that a link reaches anybody.</summary>
    public bool MayRead(Message message) => !settings.HasServer || MayTell(message);

    /// <summary>Whether a program may be told what it says: a link that signs somebody in would let a token that only reads choose their password.</summary>
    public static bool MayTell(Message message) => message.Kind is not (SignInMessages.Invitation or SignInMessages.NewPassword);
}
