using NodaTime;
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

    public static MessageItem Of(Message row, string subject) => new(
        row.Id, row.Kind, row.AboutId, row.ToName, row.ToAddress, subject, row.State,
        row.WrittenAt, row.DueAt, row.ClosedAt, row.Tries, row.LastProblem);
}

internal static class MessageEndpoints
{
    public static void MapMessageEndpoints(this IEndpointRouteBuilder app)
    {
        var messages = app.MapApi("messages").Needs(Permission.SeeMessages);

        messages.MapGet("", async ([OneOf("waiting", "sent", "failed", "withdrawn")] string? state, int? limit, string? cursor, MessageList list, CancellationToken cancel) =>
                (await list.ReadAsync(state, limit, cursor, MessageItem.Of, cancel)).ToResult())
            .WithName("ListMessages").WithSummary("Messages to pupils and instructors, newest first; `state` keeps to one state.")
            .Produces<Page<MessageItem>>().ProducesProblem(400);

        messages.MapGet("{id:guid}", async (Guid id, MessageList list, CancellationToken cancel) =>
                await list.FindAsync(id, cancel) is { } found
                    ? Results.Ok(MessageList.MayTell(found.Row)
                        ? MessageItem.Of(found.Row, found.Says.Subject) with { Text = found.Told.Text, Html = found.Told.Html, AsSent = found.AsSent }
                        : MessageItem.Of(found.Row, found.Says.Subject))
                    : Refusal.NotFound("message").ToProblem())
            .WithName("GetMessage").WithSummary("One message with what it says; not told where its link signs somebody in, and without the keys of links that answer for a pupil.")
            .Produces<MessageItem>().ProducesProblem(404);

        messages.MapPost("{id:guid}/send-again", async (Guid id, SendAgain again, Viewer viewer, LetterMaker maker, Letterheads heads, CancellationToken cancel) =>
            {
                var head = await heads.NowAsync(cancel);
                return (await again.RunAsync(viewer, id, cancel)).ToResult(row => Results.Ok(MessageItem.Of(row, maker.SubjectOf(row, head))));
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
