using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

internal sealed record SlotList(IReadOnlyList<SlotItem> Items, int Found, IReadOnlyList<Obstacle> Obstacles);

internal static class SlotEndpoints
{
    public static void MapSlots(this IEndpointRouteBuilder app) => app.MapApi("slots")
        .MapGet("", FindAsync).Needs(Permission.SeeLessons)
        .WithName("FindSlots").WithSummary("Free times that are really possible, best first; when there are none, what stands in the way.")
        .Produces<SlotList>().ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status404NotFound);

    private static async Task<IResult> FindAsync(
        Guid pupilId, QueryDate from, QueryDate to, int? minutes, Guid? instructorId, SlotFinder slots, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var question = new SlotQuestion(pupilId, from.In(zone), to.In(zone), minutes, instructorId);
        var answer = await slots.FindAsync(question, viewer, cancel);
        return answer.ToResult(found => Results.Ok(new SlotList([.. found.Offers.Select(o => SlotItem.Of(o, viewer))], found.Found, found.Obstacles)));
    }
}
