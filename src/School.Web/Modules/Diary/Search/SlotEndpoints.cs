using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

internal sealed record SlotList(IReadOnlyList<SlotItem> Items, string? Next, int Found, IReadOnlyList<Obstacle> Obstacles, IReadOnlyList<SlotHelp> Help);

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
        .OfPupil(Sight.Everything, "pupilId", diary: true).WithName("FindSlots").WithSummary("Free times that are really possible, best first; when there are none, what stands in the way and what would help. 'gearbox' says in which, where that is still to be asked of the pupil and those who might teach them teach in both.")
        .Produces<SlotList>().ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status404NotFound)
        .ProducesProblem(StatusCodes.Status422UnprocessableEntity);

    private static async Task<IResult> FindAsync(
        Guid pupilId, QueryDate from, QueryDate to, [Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int? minutes, Guid? instructorId, QueryWord<LessonKind>? kind, QueryWord<Gearbox>? gearbox,
        [Between(-90, 90)] double? pickUpLatitude, [Between(-180, 180)] double? pickUpLongitude,
        Guid? pickUpPlaceId, [AtMost(Core.Travel.Postcode.LongestTyped)] string? pickUpPostcode,
        [Between(-90, 90)] double? dropOffLatitude, [Between(-180, 180)] double? dropOffLongitude,
        Guid? dropOffPlaceId, [AtMost(Core.Travel.Postcode.LongestTyped)] string? dropOffPostcode, int? limit, string? cursor,
        SlotFinder slots, SlotPlaces places, WaysOut ways, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        // Dates need no zone; only a moment does.
        var zone = from.Date is null || to.Date is null ? (await school.GetAsync(cancel)).Zone : DateTimeZone.Utc;
        var errors = new FieldErrors();
        var pickUp = await places.ReadAsync("pickUp", pupilId, new(Postcode: pickUpPostcode, Latitude: pickUpLatitude, Longitude: pickUpLongitude, PlaceId: pickUpPlaceId), errors, cancel);
        var dropOff = await places.ReadAsync("dropOff", pupilId, new(Postcode: dropOffPostcode, Latitude: dropOffLatitude, Longitude: dropOffLongitude, PlaceId: dropOffPlaceId), errors, cancel);
        var place = PageRequest.Of(limit ?? PageRequest.Most, cursor).Place();
        if (!place.Ok)
        {
            errors.AddAll(place.Refusal);
        }

        if (errors.ToRefusal() is { } invalid)
        {
            return invalid.ToProblem();
        }

        // One more than is told, so that it is known whether there is a next page.
        var most = place.Value!.Passed + (limit ?? PageRequest.Most) + 1;
        var question = new SlotQuestion(pupilId, from.In(zone), to.In(zone), minutes, instructorId) { Most = most, PickUp = pickUp, DropOff = dropOff, Kind = kind?.Value ?? LessonKind.Standard, Gearbox = gearbox?.Value };

        var answer = await slots.FindAsync(question, viewer, cancel);
        if (!answer.Ok)
        {
            return answer.Refusal.ToProblem();
        }

        var found = answer.Value;
        var help = await ways.OfAsync(question, found, viewer, cancel);
        return found.Offers.PageOf(limit ?? PageRequest.Most, cursor, o => $"{o.Start} {o.InstructorId} {o.CarId}").ToResult(page => Results.Ok(new SlotList(
            [.. page.Items.Select(o => SlotItem.Of(o, viewer, found))], page.Next, found.Found, found.Obstacles, [.. help.Select(SlotHelp.Of)])));
    }
}
