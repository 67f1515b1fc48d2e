using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

internal sealed record WeeklyJson(Guid Id, IReadOnlyList<LessonJson> Items)
{
    public static WeeklyJson Of(WeeklyLessons weekly, Viewer reader) => new(weekly.SeriesId, [.. weekly.Lessons.Select(lesson => LessonJson.Of(lesson, reader))]);
}

internal sealed record WeeklyDates(IReadOnlyList<WeeklyDate> Items);

internal sealed record FollowingMoves(IReadOnlyList<FollowingMove> Items);

/// <summary>Weekly lessons to book; or the weekly lesson from which on they are to be moved or cancelled.</summary>
internal sealed record NewWeekly(WeeklyRequest? Book = null, Guid? LessonId = null, MoveFollowingRequest? Move = null, CancelFollowingRequest? Cancel = null)
{
    public WeeklyAsk ToAsk() => new(Book, null, LessonId, Move, Cancel);
}

internal static class WeeklyEndpoints
{
    private const string Proposals = "weekly";

    public static void AddWeekly(this IServiceCollection services)
    {
        services.AddScoped<PreviewWeekly>();
        services.AddScoped<BookWeekly>();
        services.AddScoped<FollowingLessons>();
        services.AddScoped<MoveFollowing>();
        services.AddScoped<CancelFollowing>();
        services.AddScoped<ChangeWeekly>();
        services.AddScoped<ProposalRules, WeeklyRules>();
    }

    public static void MapWeekly(this IEndpointRouteBuilder app)
    {
        var weekly = app.MapApi("weekly-lessons");
        weekly.MapPost("preview", PreviewAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("PreviewWeeklyLessons").WithSummary("Looks at each date of weekly lessons: it fits, or which rule says no and the nearest time. Books nothing.")
            .Produces<WeeklyDates>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        weekly.MapPost("", BookAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("BookWeeklyLessons").WithSummary("Books all of the starts or none of them.")
            .Produces<WeeklyJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        weekly.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeLessons)
            .WithName("GetWeeklyLessons").WithSummary("The lessons that were booked together, by start.").Produces<WeeklyJson>().ProducesProblem(404);

        var proposals = app.MapApi(Proposals);
        proposals.MapPost("", ProposeAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("ProposeWeeklyLessons")
            .WithSummary("Works out weekly lessons to book, or from one of them on to move or to cancel, line by line. Changes nothing yet.")
            .Produces<ProposalJsonBody>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        proposals.MapProposals(ProposalKind.Weekly, Permission.BookLessons, "WeeklyProposal", TellAsync);

        var following = app.MapApi("lessons").MapGroup("{id:guid}/following");
        following.MapPost("move/preview", PreviewMoveAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("PreviewMoveFollowing").WithSummary("What would become of a weekly lesson and those after it. Moves nothing.")
            .Produces<FollowingMoves>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        following.MapPost("move", MoveAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("MoveFollowing").WithSummary("Moves a weekly lesson and those after it by as many days, to the same new time; all or none.")
            .Produces<WeeklyJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        following.MapPost("cancel", CancelAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("CancelFollowing").WithSummary("Cancels a weekly lesson and all after it; each is charged or not by itself.")
            .Produces<WeeklyJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
    }

    private static async Task<IResult> ProposeAsync(NewWeekly request, HttpContext context, ChangeWeekly change, Viewer viewer, CancellationToken cancel) =>
        await ProposalEndpoints.CreatedAsync(context, await change.ProposeAsync(viewer, request.ToAsk(), cancel), Proposals, TellAsync, viewer, cancel);

    private static Task<ProposalJsonBody> TellAsync(ProposalContext context) => Task.FromResult(ProposalJsonBody.Of(context.Proposal, context.State));

    private static async Task<IResult> PreviewAsync(WeeklyRequest request, PreviewWeekly preview, Viewer viewer, CancellationToken cancel) =>
        (await preview.RunAsync(request, viewer, cancel)).ToResult(found => Results.Ok(new WeeklyDates(found.Dates)));

    private static async Task<IResult> BookAsync(BookWeeklyRequest request, ChangeWeekly change, Viewer viewer, CancellationToken cancel) =>
        (await change.RunAsync(viewer, new(Starts: request), cancel)).ToResult(
            weekly => Results.Created($"{ApiSetup.Prefix}/weekly-lessons/{weekly.SeriesId}", WeeklyJson.Of(weekly, viewer)));

    private static async Task<IResult> GetAsync(Guid id, SchoolDb db, Viewer viewer, CancellationToken cancel)
    {
        var lessons = await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).Where(l => l.SeriesId == id).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        return lessons.Count > 0 ? Results.Ok(WeeklyJson.Of(new(id, lessons), viewer)) : Refusal.NotFound("weekly lesson").ToProblem();
    }

    private static async Task<IResult> PreviewMoveAsync(Guid id, MoveFollowingRequest request, MoveFollowing move, Viewer viewer, CancellationToken cancel) =>
        (await move.PreviewAsync(id, request, viewer, cancel)).ToResult(lines => Results.Ok(new FollowingMoves(lines)));

    private static async Task<IResult> MoveAsync(Guid id, MoveFollowingRequest request, ChangeWeekly change, Viewer viewer, CancellationToken cancel) =>
        (await change.RunAsync(viewer, new(LessonId: id, Move: request), cancel)).ToResult(weekly => Results.Ok(WeeklyJson.Of(weekly, viewer)));

    private static async Task<IResult> CancelAsync(Guid id, CancelFollowingRequest request, ChangeWeekly change, Viewer viewer, CancellationToken cancel) =>
        (await change.RunAsync(viewer, new(LessonId: id, Cancel: request), cancel)).ToResult(weekly => Results.Ok(WeeklyJson.Of(weekly, viewer)));
}
