using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Events;

internal static class EventEndpoints
{
    /// <summary>Whoever has a day or a board to keep open. Pupils, and who stands beside them, are told of what concerns them by letter.</summary>
    public const Permission Needed = Permission.DriveTheDay;

    public static void MapEvents(this IEndpointRouteBuilder app) =>
        app.MapApi("events").Needs(Needed).MapGet("", async (HttpContext context, ChangeStream stream, Viewer viewer, string? from) =>
                await stream.RunAsync(context, viewer, context.Request.Headers[EventStreams.LastEventId] is [{ Length: > 0 } last] ? last : from) is { } refusal
                    ? refusal.ToProblem()
                    : Results.Empty)
            .Streams<DayChange>()
            .WithName("ListenToChanges")
            .WithSummary("Days that change, as they do (server-sent events); what stands there is read by itself. “from” is the id of the last event where Last-Event-ID cannot be sent.");
}
