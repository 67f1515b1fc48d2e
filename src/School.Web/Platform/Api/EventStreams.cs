using School.Web.Platform.Access;

namespace School.Web.Platform.Api;

/// <summary>Says of an endpoint that its answer goes on for as long as its reader stays.</summary>
/// <param name="Event">What the data of an event is.</param>
internal sealed record EventStreams(Type Event)
{
    public const string MediaType = "text/event-stream";
    public const string LastEventId = "Last-Event-ID";
}

internal static class EventStreamSetup
{
    /// <summary>
    /// Server-sent events (HTML standard, 9.2), also for the pages themselves, whose browser sends no bearer token. Beside the requests that a node
    /// works on for a person: a stream waits most of the time.
    /// </summary>
    public static RouteHandlerBuilder Streams<TEvent>(this RouteHandlerBuilder endpoint) => endpoint
        .WithMetadata(new EventStreams(typeof(TEvent)), new TakesCookie())
        .DisableRateLimiting()
        .Produces<string>(StatusCodes.Status200OK, EventStreams.MediaType).ProducesProblem(StatusCodes.Status400BadRequest);
}
