using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Messages;

/// <summary>How many failed messages wait again, and how many speak of something past and stay as they are.</summary>
internal sealed record SentAgain(int Waiting, int Past);

/// <summary>Puts every message that failed back among the waiting, with all its tries before it: for when what was wrong was the mail server.</summary>
internal sealed class SendAllAgain(SchoolDb db, IClock clock, Audit audit)
{
    public Task<Outcome<SentAgain>> RunAsync(Viewer viewer, CancellationToken cancel) => db.InTransactionAsync<SentAgain>(async cancel =>
    {
        var now = clock.GetCurrentInstant();
        var failed = db.Set<Message>().Where(m => m.State == MessageState.Failed);
        var waiting = await failed.Where(m => m.UselessAt == null || m.UselessAt > now).ExecuteUpdateAsync(
            set => set.SetProperty(m => m.State, MessageState.Waiting).SetProperty(m => m.Tries, 0).SetProperty(m => m.DueAt, now)
                .SetProperty(m => m.ClosedAt, (Instant?)null).SetProperty(m => m.ClaimedUntil, (Instant?)null), cancel);
        if (waiting > 0)
        {
            audit.Note(viewer, "message.send_all_again", null, $"Put {waiting} failed {(waiting == 1 ? "message" : "messages")} back to be sent.");
        }

        return new SentAgain(waiting, await failed.CountAsync(cancel));
    }, cancel);
}
