using System.Linq.Expressions;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Messages;

/// <summary>A message with what it says.</summary>
internal sealed partial record ReadMessage(Message Row, MadeLetter Says)
{
    /// <summary>The same without the keys of links that answer for the pupil: whoever reads it could.</summary>
    public MadeLetter Told => Says with { Text = WithoutKeys(Says.Text), Html = WithoutKeys(Says.Html) };

    /// <summary>Whether these are the very words that went; null where that cannot be told.</summary>
    public bool? AsSent => Row.Content is null || Row.SentDigest is not { } sent ? null : sent.AsSpan().SequenceEqual(Says.Digest());

    private static string WithoutKeys(string text) => Key().Replace(text, "?key=…");

    [GeneratedRegex("[?]key=[A-Za-z0-9_-]+")]
    private static partial Regex Key();
}

/// <summary>A message as a list reads it: all but what it says.</summary>
/// <param name="Row">Its content is null, whether or not there is one.</param>
/// <param name="Speaks">Whether what it says is still kept.</param>
internal sealed record ListedMessage(Message Row, bool Speaks)
{
    public static readonly Expression<Func<Message, ListedMessage>> Read = m => new(
        new Message
        {
            Id = m.Id,
            Key = "",
            AboutId = m.AboutId,
            Kind = m.Kind,
            Receiver = m.Receiver,
            ReceiverId = m.ReceiverId,
            ToName = m.ToName,
            ToAddress = m.ToAddress,
            Content = null,
            WrittenAt = m.WrittenAt,
            DueAt = m.DueAt,
            State = m.State,
            ClosedAt = m.ClosedAt,
            LetterheadId = m.LetterheadId,
            Tries = m.Tries,
            LastProblem = m.LastProblem,
        },
        m.Content != null);
}

/// <summary>The messages, newest first, for page and API.</summary>
internal sealed class MessageList(SchoolDb db, LetterMaker maker, KnownSubjects known, Letterheads heads, MailSettings settings, IClock clock)
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
        var page = await rows.PageNewestAsync(limit, cursor, ListedMessage.Read, m => m.Row.Id, row => row, cancel, together);
        if (!page.Ok)
        {
            return page.Refusal;
        }

        var headOf = await heads.OfAsync(kept.All, cancel);
        var subjects = await SubjectsAsync(page.Value.Items, headOf, cancel);
        return new Page<T>([.. page.Value.Items.Select(one => shape(one.Row, subjects[one.Row.Id]))], page.Value.Next);
    }

    /// <summary>What a letter says is read only where its subject is not known already.</summary>
    private async Task<Dictionary<Guid, string>> SubjectsAsync(IReadOnlyList<ListedMessage> listed, Func<Message, Letterhead> headOf, CancellationToken cancel)
    {
        var subjects = new Dictionary<Guid, string>(listed.Count);
        var unknown = new List<ListedMessage>();
        foreach (var one in listed)
        {
            if (known.Find(one, headOf(one.Row)) is { } subject)
            {
                subjects[one.Row.Id] = subject;
            }
            else
            {
                unknown.Add(one);
            }
        }

        var ids = unknown.ConvertAll(one => one.Row.Id);
        var whole = ids.Count == 0 ? [] : await db.Set<Message>().AsNoTracking().Where(m => ids.Contains(m.Id)).ToDictionaryAsync(m => m.Id, cancel);
        foreach (var one in unknown)
        {
            // One that is gone since is worded as one whose content is kept no longer.
            var head = headOf(one.Row);
            subjects[one.Row.Id] = known.Keep(one, head, maker.SubjectOf(whole.GetValueOrDefault(one.Row.Id, one.Row), head));
        }

        return subjects;
    }

    /// <summary>The newest, with their subjects.</summary>
    public async Task<IReadOnlyList<(Message Row, string Subject)>> NewestAsync(int most, CancellationToken cancel)
    {
        var listed = await db.Set<Message>().AsNoTracking().OrderByDescending(m => m.Id).Take(most).Select(ListedMessage.Read).ToListAsync(cancel);
        var subjects = await SubjectsAsync(listed, await heads.OfAllAsync(cancel), cancel);
        return listed.ConvertAll(one => (one.Row, subjects[one.Row.Id]));
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
    /// <remarks>A link that signs somebody in is for whoever may say who signs in: who reads it can become that person.</remarks>
    public bool MayRead(Viewer viewer, Message message) => MayTell(message) || (!settings.HasServer && viewer.May(Permission.GiveHats));

    /// <summary>Whether a program may be told what it says: a link that signs somebody in would let a token that only reads choose their password.</summary>
    public static bool MayTell(Message message) => message.Kind is not (SignInMessages.Invitation or SignInMessages.NewPassword or SignInMessages.Reached);
}
