using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Writing;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Messages;

/// <summary>Puts a message that failed back among the waiting, with all its tries before it.</summary>
internal sealed class SendAgain(SchoolDb db, LetterMaker maker, Letterheads heads, IClock clock, Audit audit)
{
    public Task<Outcome<Message>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => db.InTransactionAsync<Message>(async cancel =>
    {
        await db.LockAsync([$"message:{id}"], cancel);
        var message = await db.Set<Message>().SingleOrDefaultAsync(m => m.Id == id, cancel);
        if (message is null)
        {
            return Refusal.NotFound("message");
        }

        var now = clock.GetCurrentInstant();
        if (message.State != MessageState.Failed)
        {
            return Refusal.Conflict("message_not_failed", "Only a message that failed can be sent again.");
        }

        if (message.UselessAt <= now)
        {
            return Refusal.Rule("message_useless", "What this message speaks of is past, so it is not sent any more.");
        }

        (message.State, message.Tries, message.DueAt, message.ClosedAt) = (MessageState.Waiting, 0, now, null);
        audit.Note(viewer, "message.send_again", id, $"Put a failed message back to be sent: “{maker.SubjectOf(message, await heads.NowAsync(cancel))}”.");
        return message;
    }, cancel);
}
