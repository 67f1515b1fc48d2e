using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Messages;

internal sealed record MessageItem(
    Guid Id, string Kind, Guid AboutId, string ToName, string ToAddress, string Subject, MessageState State,
    Instant WrittenAt, Instant DueAt, Instant? ClosedAt, int Tries, string LastProblem)
{
    /// <summary>Told when one message is asked for, not in lists.</summary>
    public string? Text { get; init; }

    public string? Html { get; init; }

    /// <summary>Of one that went: whether these are the very words that went. Null where it was not noted, and once what it said is kept no longer.</summary>
    public bool? AsSent { get; init; }

    /// <summary>As somebody reads it who may see of its receiver the name alone.</summary>
    public static MessageItem Seen(Message row, string subject, SeenReceivers seen) => seen.Reached(row.To) ? Of(row, subject)
        : Of(row, subject) with { ToAddress = "", LastProblem = row.ProblemByName };

    public static MessageItem Of(Message row, string subject) => new(
        row.Id, row.Kind, row.AboutId, row.ToName, row.ToAddress, subject, row.State,
        row.WrittenAt, row.DueAt, row.ClosedAt, row.Tries, row.LastProblem);
}

internal static class MessageEndpoints
{
    public static void MapMessageEndpoints(this IEndpointRouteBuilder app)
    {
        var messages = app.MapApi("messages").Needs(Permission.SeeMessages);

        messages.MapGet("", async ([OneOf("waiting", "sent", "failed", "withdrawn")] string? state, int? limit, string? cursor, MessageList list, ISeeReceivers sees, Viewer viewer, CancellationToken cancel) =>
            {
                var page = await list.ReadAsync(state, limit, cursor, (row, subject) => (row, subject), cancel);
                var seen = await sees.OfAsync(viewer, [.. page.Value?.Items.Select(one => one.row.To) ?? []], cancel);
                return page.ToResult(read => Results.Ok(new Page<MessageItem>([.. read.Items.Select(one => MessageItem.Seen(one.row, one.subject, seen))], read.Next)));
            })
            .WithName("ListMessages").WithSummary("Messages to pupils and instructors, newest first; `state` keeps to one state.")
            .Produces<Page<MessageItem>>().ProducesProblem(400);

        messages.MapGet("{id:guid}", async (Guid id, MessageList list, ISeeReceivers sees, Viewer viewer, CancellationToken cancel) =>
            {
                if (await list.FindAsync(id, cancel) is not { } found)
                {
                    return Refusal.NotFound("message").ToProblem();
                }

                var seen = await sees.OfAsync(viewer, [found.Row.To], cancel);
                var item = MessageItem.Seen(found.Row, found.Says.Subject, seen);
                return Results.Ok(MessageList.MayTell(found.Row) && seen.Read(found.Row.To) ? item with { Text = found.Told.Text, Html = found.Told.Html, AsSent = found.AsSent } : item);
            })
            .WithName("GetMessage").WithSummary("One message with what it says; without the keys of links that answer for a pupil; not told where its link signs somebody in, nor where pupils belong to their instructor and its receiver is seen by name alone.")
            .Produces<MessageItem>().ProducesProblem(404);

        messages.MapPost("{id:guid}/send-again", async (Guid id, SendAgain again, Viewer viewer, LetterMaker maker, Letterheads heads, ISeeReceivers sees, CancellationToken cancel) =>
            {
                var head = await heads.NowAsync(cancel);
                var sent = await again.RunAsync(viewer, id, cancel);
                var seen = await sees.OfAsync(viewer, sent.Value is { } one ? [one.To] : [], cancel);
                return sent.ToResult(row => Results.Ok(MessageItem.Seen(row, maker.SubjectOf(row, head), seen)));
            })
            .WithIdempotency()
            .WithName("SendMessageAgain").WithSummary("Puts a message that failed back among the waiting.")
            .Produces<MessageItem>().ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);

        messages.MapPost("send-again", async (SendAllAgain again, Viewer viewer, CancellationToken cancel) => (await again.RunAsync(viewer, cancel)).ToResult())
            .WithIdempotency()
            .WithName("SendAllMessagesAgain").WithSummary("Puts every message that failed back among the waiting; those that speak of something past stay, and are counted as `past`.")
            .Produces<SentAgain>();
    }
}
