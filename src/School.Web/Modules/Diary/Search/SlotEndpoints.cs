using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

internal sealed record SlotList(IReadOnlyList<SlotItem> Items, int Found, IReadOnlyList<Obstacle> Obstacles, IReadOnlyList<SlotHelp> Help);

/// <summary>Another search that would find something, and the first time that it finds.</summary>
internal sealed record SlotHelp(string Sentence, Instant Start, int Minutes, Guid? InstructorId, LocalDate From, LocalDate To)
{
    public static SlotHelp Of(WayOut way) =>
        new(way.Sentence, way.Start, way.Question.Minutes!.Value, way.Question.InstructorId, way.Question.From, way.Question.To);
}

internal static class SlotEndpoints
{
    public static void MapSlots(this IEndpointRouteBuilder app) => app.MapApi("slots")
        .MapGet("", FindAsync).Needs(Permission.SeeLessons)
        .WithName("FindSlots").WithSummary("Free times that are really possible, best first; when there are none, what stands in the way and what would help.")
        .Produces<SlotList>().ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status404NotFound);

    private static async Task<IResult> FindAsync(
        Guid pupilId, QueryDate from, QueryDate to, int? minutes, Guid? instructorId, int? limit,
        SlotFinder slots, WaysOut ways, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        // Dates need no zone; only a moment does.
        var zone = from.Date is null || to.Date is null ? (await school.GetAsync(cancel)).Zone : DateTimeZone.Utc;
        var question = new SlotQuestion(pupilId, from.In(zone), to.In(zone), minutes, instructorId) { Most = limit ?? SlotFinder.MostOffers };
        if (new FieldErrors().When(limit is < 1 or > SlotFinder.MostOffers, nameof(limit), $"The limit is 1 to {SlotFinder.MostOffers}.").ToRefusal() is { } invalid)
        {
            return invalid.ToProblem();
        }

        var answer = await slots.FindAsync(question, viewer, cancel);
        if (!answer.Ok)
        {
            return answer.Refusal.ToProblem();
        }

        var found = answer.Value;
        var help = await ways.OfAsync(question, found, viewer, cancel);
        return Results.Ok(new SlotList(
            [.. found.Offers.Select(o => SlotItem.Of(o, viewer))], found.Found, found.Obstacles, [.. help.Select(SlotHelp.Of)]));
    }
}
