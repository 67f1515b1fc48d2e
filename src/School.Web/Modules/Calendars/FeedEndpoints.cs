using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Calendars;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Calendars;

internal sealed record FeedView(
    Guid Id, Guid? InstructorId, Guid? PupilId, Guid? CarId, FeedDetail Detail, bool HideCancelled, Instant CreatedAt, Instant? LastReadAt)
{
    public static FeedView Of(Feed row) => new(row.Id, row.InstructorId, row.PupilId, row.CarId, row.Detail, row.HideCancelled, row.CreatedAt, row.LastReadAt);
}

/// <summary>The only time that the address is told.</summary>
internal sealed record NewFeedView(Guid Id, string Url, string WebcalUrl);

internal static class FeedEndpoints
{
    public static void MapFeedEndpoints(this IEndpointRouteBuilder app)
    {
        app.MapMethods($"{FeedAddress.Path}/{{secret}}.ics", [HttpMethods.Get, HttpMethods.Head], (string secret, HttpContext context, FeedAnswer answer, CancellationToken cancel) =>
            answer.OfAsync(secret, context, cancel)).AllowAnonymous().ExcludeFromDescription();

        // Calendar programs try more than GET, and other addresses; a page to sign in on would be taken for a calendar.
        app.MapMethods($"{FeedAddress.Path}/{{secret}}.ics", [HttpMethods.Options], (HttpContext context) => Allow(context, StatusCodes.Status204NoContent))
            .AllowAnonymous().ExcludeFromDescription();
        app.Map($"{FeedAddress.Path}/{{secret}}.ics", (HttpContext context) => Allow(context, StatusCodes.Status405MethodNotAllowed))
            .WithOrder(1).AllowAnonymous().ExcludeFromDescription();
        app.Map($"{FeedAddress.Path}/{{**rest}}", () => Results.Text("There is no calendar at this address.", statusCode: StatusCodes.Status404NotFound))
            .WithOrder(2).AllowAnonymous().ExcludeFromDescription();

        var feeds = app.MapApi("feeds").Needs(Permission.OwnFeeds);
        feeds.MapGet("", async (SchoolDb db, Viewer viewer, int? limit, string? cursor, CancellationToken cancel) =>
                (await db.FeedsFor(viewer).AsNoTracking().PageNewestAsync(limit, cursor, f => f.Id, FeedView.Of, cancel)).ToResult())
            .WithName("ListFeeds").WithSummary("Calendar feeds, newest first; their addresses are not told again.")
            .Produces<Page<FeedView>>().ProducesProblem(400);

        feeds.MapPost("", async (FeedRequest request, HttpContext context, MakeFeed make, Viewer viewer, IConfiguration configuration, CancellationToken cancel) =>
                (await make.RunAsync(viewer, request, cancel)).ToResult(made =>
                {
                    var address = FeedAddress.Of(made.Secret, context.Request, configuration);
                    return Results.Created($"{ApiSetup.Prefix}/feeds/{made.Row.Id}", new NewFeedView(made.Row.Id, address.Url, address.Webcal));
                }))
            .WithIdempotency()
            .WithName("MakeFeed").WithSummary("Makes a calendar feed; the answer is the only time that its address is told.")
            .Produces<NewFeedView>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);

        feeds.MapGet("{id:guid}", async (Guid id, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
                await db.FeedsFor(viewer).AsNoTracking().SingleOrDefaultAsync(f => f.Id == id, cancel) is { } row
                    ? Results.Ok(FeedView.Of(row))
                    : Refusal.NotFound("calendar address").ToProblem())
            .WithName("GetFeed").WithSummary("One calendar feed, without its address.")
            .Produces<FeedView>().ProducesProblem(404);

        feeds.MapDelete("{id:guid}", async (Guid id, RevokeFeed revoke, Viewer viewer, CancellationToken cancel) =>
                (await revoke.RunAsync(viewer, id, cancel)).ToResult(_ => Results.NoContent()))
            .WithIdempotency()
            .WithName("RevokeFeed").WithSummary("Ends a calendar feed: its address answers no more.")
            .Produces(204).ProducesProblem(404);
    }

    private static IResult Allow(HttpContext context, int status)
    {
        context.Response.Headers.Allow = "GET, HEAD, OPTIONS";
        return status == StatusCodes.Status204NoContent ? Results.NoContent() : Results.Text("A calendar is read with GET.", statusCode: status);
    }
}
