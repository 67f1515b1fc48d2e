using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>A message that was given up, for the list of what needs attention.</summary>
internal sealed record FailedMessage(Guid Id, string ToName, string Subject, string Reason, Instant At);

/// <summary>Letters that could not be sent as somebody has no e-mail address, and still matter.</summary>
/// <param name="To">Who should get them.</param>
/// <param name="Name">Their name.</param>
/// <param name="Count">How many.</param>
/// <param name="Since">When the first was given up.</param>
internal sealed record UnsentLetters(Receiver To, string Name, int Count, Instant Since);

/// <summary>How it stands with a letter: when it went, or why it has not.</summary>
internal sealed record LastLetter(Instant? SentAt, string Problem);

/// <summary>Messages that should have gone and wait: how many, and since when the oldest is due.</summary>
internal sealed record LateMessages(int Count, Instant Since);

/// <summary>Why a letter has not reached somebody.</summary>
internal enum Unreached
{
    /// <summary>There is nowhere to send it.</summary>
    NoChannel,

    /// <summary>It was refused, or given up.</summary>
    Refused,

    /// <summary>It has not gone after ten minutes.</summary>
    NotGone,

    /// <summary>It has gone since.</summary>
    ReachedSince,
}

internal sealed class MessageQueries(SchoolDb db, LetterMaker maker, Letterheads heads, IClock clock)
{
    private const int Most = 100;

    /// <summary>A letter that speaks of nothing to come is told to the office for so long.</summary>
    private static readonly Duration Told = Duration.FromDays(14);

    /// <summary>The sending job runs every few seconds and puts off what it cannot send: what is due for longer, nobody looked at.</summary>
    private static readonly Duration Grace = Duration.FromMinutes(5);

    /// <summary>Whoever has to be told at once is rung when a letter has not gone by then.</summary>
    public static readonly Duration AtOnce = Duration.FromMinutes(10);

    /// <summary>Of these pupils those whom no letter of these kinds about any of these things has reached, by what became of the latest that was written since a moment.</summary>
    public async Task<IReadOnlyDictionary<Guid, Unreached>> UnreachedPupilsAsync(
        IReadOnlyCollection<Guid> pupils, IReadOnlyCollection<Guid> about, IReadOnlyCollection<string> kinds, Instant since, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var letters = (await db.Set<Message>().AsNoTracking()
            .Where(m => about.Contains(m.AboutId) && m.Receiver == ReceiverKind.Pupil && pupils.Contains(m.ReceiverId) && m.WrittenAt >= since && m.State != MessageState.Withdrawn)
            .Where(m => kinds.Contains(m.Kind) && m.DueAt <= m.WrittenAt + AtOnce)
            .Select(m => new { m.Id, m.ReceiverId, m.ToAddress, m.State, m.WrittenAt }).ToListAsync(cancel)).ToLookup(m => m.ReceiverId);
        var unreached = new Dictionary<Guid, Unreached>();
        foreach (var pupil in pupils)
        {
            if (letters[pupil].OrderBy(m => m.WrittenAt).ThenBy(m => m.Id).LastOrDefault() is not { } letter || letter.ToAddress.Length == 0)
            {
                unreached[pupil] = Unreached.NoChannel;
            }
            else if (letter.State is MessageState.Failed)
            {
                unreached[pupil] = Unreached.Refused;
            }
            else if (letter.State is MessageState.Waiting && letter.WrittenAt + AtOnce <= now)
            {
                unreached[pupil] = Unreached.NotGone;
            }
        }

        return unreached;
    }

    /// <summary>How it stands with the latest letter of a kind about something; null where there is none.</summary>
    public async Task<LastLetter?> LastAsync(string kind, Guid about, CancellationToken cancel) =>
        (await db.Set<Message>().AsNoTracking().Where(m => m.AboutId == about && m.Kind == kind && m.State != MessageState.Withdrawn).OrderByDescending(m => m.Id)
            .Take(1).ToListAsync(cancel)).ConvertAll(m => new LastLetter(m.State == MessageState.Sent ? m.ClosedAt : null, m.ProblemByName)).SingleOrDefault();

    /// <summary>What is overdue by more than five minutes; null when nothing is.</summary>
    public async Task<LateMessages?> LateAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var since = now - Grace;
        return await db.Set<Message>().Where(m => m.State == MessageState.Waiting && m.DueAt <= since && (m.UselessAt == null || m.UselessAt > now))
            .GroupBy(_ => 1).Select(late => new LateMessages(late.Count(), late.Min(m => m.DueAt))).SingleOrDefaultAsync(cancel);
    }

    /// <summary>
    /// What was given up, newest first, at most a hundred of each: messages to an address, and letters to somebody without one, as long as they speak of
    /// something to come or were given up lately.
    /// </summary>
    public async Task<(IReadOnlyList<FailedMessage> Failed, IReadOnlyList<UnsentLetters> Unsent)> GivenUpAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var since = now - Told;
        var head = await heads.NowAsync(cancel);
        var failed = db.Set<Message>().AsNoTracking().Where(m => m.State == MessageState.Failed);
        // Each by itself: letters that nobody can be sent must not push aside what a server refused.
        var together = new ReadTogether(db);
        var refused = together.Ask(failed.Where(m => m.ToAddress != "").OrderByDescending(m => m.ClosedAt).Take(Most));
        var unsent = together.Ask(failed.Where(m => m.ToAddress == "" && (m.UselessAt == null ? m.ClosedAt > since : m.UselessAt > now)).OrderByDescending(m => m.ClosedAt).Take(Most));
        await together.RunAsync(cancel);
        return (
            [.. refused.All.Select(m => new FailedMessage(m.Id, m.ToName, maker.SubjectOf(m, head), m.LastProblem, m.ClosedAt!.Value))],
            [
                .. unsent.All.GroupBy(m => new Receiver(m.Receiver, m.ReceiverId))
                    .Select(to => new UnsentLetters(to.Key, to.First().ToName, to.Count(), to.Min(m => m.ClosedAt!.Value))),
            ]);
    }
}
