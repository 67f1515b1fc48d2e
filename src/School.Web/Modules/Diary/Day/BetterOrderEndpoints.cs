using System.Text.Json.Serialization;
using NodaTime;
using School.Core.Diary.Order;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>No leg is told from or to a place that is still to be found.</summary>
internal sealed record OrderStopJson(Guid LessonId, Guid PupilId, string PupilName, Instant Start, Instant End, int? LegMinutes);

/// <summary>Driving as far as it is told; so many drives are not, because a place is still to be found.</summary>
internal sealed record OrderJson(int DrivingMinutes, double Miles, int DrivesNotTold, IReadOnlyList<OrderStopJson> Stops)
{
    public static OrderJson Of(DayRoute route, OrderAnswer answer)
    {
        var (told, pupils) = (answer.Told(route), answer.Pupils);
        var untold = told.Untold();
        return new(
            route.DrivingMinutes - untold.Minutes, Math.Round(route.Miles - untold.Miles, 2), untold.Drives,
            [.. route.Stops.Index().Where(stop => pupils.ContainsKey(stop.Item.Entry.Id)).Select(stop => new OrderStopJson(
                stop.Item.Entry.Id, pupils[stop.Item.Entry.Id].Id, pupils[stop.Item.Entry.Id].Name, stop.Item.Entry.During.Start, stop.Item.Entry.During.End,
                told.To(stop.Index) ? stop.Item.Leg.Minutes : null))]);
    }
}

internal sealed record OrderMoveJson(Guid LessonId, Guid PupilId, string PupilName, Instant From, Instant To, bool WithinTheirTimes);

/// <summary>The day as it stands beside the better one; that is null, and there are no moves, when nothing drives less. <c>proved</c> is false
/// where not every order was looked at, so that another may drive less still.</summary>
internal sealed record BetterOrderJson(
    Guid InstructorId, LocalDate Date, int MovableLessons, OrderJson Today, OrderJson? Better, IReadOnlyList<OrderMoveJson> Moves, bool Proved)
{
    public static BetterOrderJson Of(OrderAnswer answer) => new(
        answer.Instructor.Id, answer.Question.Date, answer.Movable, OrderJson.Of(answer.Today, answer),
        answer.Better is { } better ? OrderJson.Of(better.After, answer) : null,
        [.. (answer.Better?.Moves ?? []).Select(move => new OrderMoveJson(
            move.Entry.Id, answer.Pupils[move.Entry.Id].Id, answer.Pupils[move.Entry.Id].Name, move.Entry.During.Start, move.To.Start,
            !answer.ToAsk.Contains(move.Entry.Id)))],
        answer.Proved);
}

/// <summary>Whether to move also lessons of pupils who must be asked (the office only), and whether they have agreed.</summary>
internal sealed record ApplyOrderRequest(bool AskPupils = false, bool Asked = false);

internal sealed record NewBetterOrder([property: JsonRequired] Guid InstructorId, [property: JsonRequired] LocalDate Date, bool AskPupils = false);

/// <summary>A better order as a proposal; no lines where nothing drives less.</summary>
internal sealed record OrderProposalJson(
    Guid Id, ProposalState State, Guid InstructorId, LocalDate Date, bool AskPupils, int MovableLessons, int DrivingMinutesBefore, int DrivingMinutesAfter,
    IReadOnlyList<Guid> ToAsk, IReadOnlyList<ProposalLineJson> Lines, bool Proved)
{
    public static OrderProposalJson Of(Proposal proposal, ProposalState state)
    {
        var (ask, more) = (OrderRules.AskOf(proposal), OrderRules.MoreOf(proposal));
        return new(
            proposal.Id, state, ask.InstructorId, ask.Date, ask.AskPupils, more.MovableLessons, more.DrivingMinutesBefore, more.DrivingMinutesAfter, more.ToAsk,
            [.. proposal.LinesOf().Select(ProposalLineJson.Of)], more.Proved);
    }
}

internal static class BetterOrderEndpoints
{
    private const string Proposals = "better-orders";

    public static void MapBetterOrder(this IEndpointRouteBuilder app)
    {
        var order = app.MapApi("instructors/{id:guid}/day/{date}/better-order").WithTags("instructors");
        order.MapGet("", GetAsync).Needs(Permission.DriveTheDay)
            .WithName("GetBetterOrder").WithSummary("The day beside the order of its lessons with the least driving, within the times that pupils gave; with an ETag.")
            .Produces<BetterOrderJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        order.MapPost("", PostAsync).Needs(Permission.DriveTheDay).WithIdempotency()
            .WithName("ApplyBetterOrder").WithSummary("Moves the lessons into the better order, all or none, and tells the pupils. Wants If-Match.")
            .Produces<BetterOrderJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        var proposals = app.MapApi(Proposals);
        proposals.MapPost("", ProposeAsync).Needs(Permission.DriveTheDay).WithIdempotency()
            .WithName("ProposeBetterOrder").WithSummary("Works out the order of a day's lessons with the least driving and keeps it as a proposal. Changes nothing yet.")
            .Produces<OrderProposalJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        proposals.MapProposals(ProposalKind.BetterOrder, Permission.DriveTheDay, "BetterOrderProposal", TellAsync);
    }

    private static async Task<IResult> ProposeAsync(NewBetterOrder request, HttpContext context, MakeProposal make, Viewer viewer, CancellationToken cancel) =>
        new FieldErrors().WrongYear(nameof(request.Date), request.Date).ToRefusal() is { } invalid
            ? invalid.ToProblem()
            : await ProposalEndpoints.CreatedAsync(
                context, await make.RunAsync(viewer, new(ProposalKind.BetterOrder, new OrderQuestion(request.InstructorId, request.Date, request.AskPupils)), cancel),
                Proposals, TellAsync, viewer, cancel);

    private static Task<OrderProposalJson> TellAsync(ProposalContext context) => Task.FromResult(OrderProposalJson.Of(context.Proposal, context.State));

    private static async Task<IResult> GetAsync(
        Guid id, QueryDate date, bool? askPupils, HttpContext context, FindOrder find, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var wanted = date.In((await school.GetAsync(cancel)).Zone);
        return new FieldErrors().WrongYear(nameof(date), wanted).ToRefusal() is { } invalid
            ? invalid.ToProblem()
            : (await find.RunAsync(viewer, new(id, wanted, askPupils ?? false), cancel)).ToResult(answer => Answer(context, answer));
    }

    private static async Task<IResult> PostAsync(
        Guid id, QueryDate date, ApplyOrderRequest request, HttpContext context, OrderDay order, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var wanted = date.In((await school.GetAsync(cancel)).Zone);
        return new FieldErrors().WrongYear(nameof(date), wanted).ToRefusal() is { } invalid
            ? invalid.ToProblem()
            : (await order.RunAsync(viewer, new(new(id, wanted, request.AskPupils), request.Asked), ETags.Wanted(context), cancel))
                .ToResult(answer => Results.Ok(BetterOrderJson.Of(answer)));
    }

    private static IResult Answer(HttpContext context, OrderAnswer answer)
    {
        context.Response.Headers.ETag = $"\"{answer.Version}\"";
        return Results.Ok(BetterOrderJson.Of(answer));
    }
}
