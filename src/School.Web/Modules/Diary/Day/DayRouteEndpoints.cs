using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

internal sealed record LegJson(int Minutes, double Miles)
{
    public static LegJson Of(School.Core.Travel.Leg leg) => new(leg.Minutes, Math.Round(leg.Miles, 2));
}

internal sealed record StopJson(
    Guid LessonId, Guid PupilId, string PupilName, Guid CarId, Instant Start, Instant End, PlaceView PickUp, PlaceView DropOff, LegJson Leg,
    Instant Arrives, int SlackMinutes, bool InTimeOff, string Need, string LastNote, bool FirstLesson);

/// <summary>A test day on the route: the time kept, within it the test.</summary>
internal sealed record TestStopJson(
    Guid TestDayId, Guid PupilId, string PupilName, Guid? CarId, Instant Start, Instant End, Instant TestStart, PlaceView PickUp, PlaceView Centre, bool EndsAtPickUp,
    LegJson Leg, Instant Arrives, int SlackMinutes);

internal sealed record DayRouteJson(
    Guid InstructorId, LocalDate Date, PlaceView Base, IReadOnlyList<StopJson> Stops, Instant? LatestDeparture, LegJson? LegHome, Instant? HomeAt,
    int DrivingMinutes, double Miles, int TaughtMinutes, IReadOnlyList<TestStopJson> Tests)
{
    public static DayRouteJson Of(DayDetail day) => new(
        day.InstructorId, day.Date, PlaceView.Of(day.Base),
        [.. day.Stops.Select(s => new StopJson(
            s.Lesson.Id, s.Pupil.Id, s.Pupil.Name, s.Lesson.CarId, s.Lesson.StartsAt, s.Lesson.EndsAt, PlaceView.Of(s.Lesson.PickUp),
            PlaceView.Of(s.Lesson.DropOff), LegJson.Of(s.Stop.Leg), s.Stop.Arrives, s.Stop.SlackMinutes, s.Stop.InTimeOff, s.Pupil.Need, s.LastNote, s.IsFirstLesson))],
        day.Route.LatestDeparture, day.Route.LegHome is { } home ? LegJson.Of(home) : null, day.Route.HomeAt,
        day.Route.DrivingMinutes, Math.Round(day.Route.Miles, 2), day.Route.TaughtMinutes,
        [.. day.Tests.Select(t => new TestStopJson(
            t.Test.Id, t.Test.PupilId, t.PupilName, t.Test.CarId, t.Test.BlockedFrom, t.Test.BlockedUntil, t.Test.StartsAt, PlaceView.Of(t.Test.PickUp),
            PlaceView.Of(t.Test.Centre), t.Test.EndsAtPickUp, LegJson.Of(t.Stop.Leg), t.Stop.Arrives, t.Stop.SlackMinutes))]);
}

internal static class DayRouteEndpoints
{
    public static void MapDayRoute(this IEndpointRouteBuilder app) => app.MapApi("instructors/{id:guid}/day").WithTags("instructors")
        .MapGet("{date}", GetAsync).Needs(Permission.DriveTheDay)
        .WithName("GetDayRoute").WithSummary("The day on the road: stops in order, the legs between, slack, lessons that lie in time off, and totals; own, or anybody's for the office.")
        .Produces<DayRouteJson>().ProducesProblem(400).ProducesProblem(404);

    private static async Task<IResult> GetAsync(Guid id, QueryDate date, DiaryQueries diary, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var wanted = date.In((await school.GetAsync(cancel)).Zone);
        if (new FieldErrors().WrongYear(nameof(date), wanted).ToRefusal() is { } invalid)
        {
            return invalid.ToProblem();
        }

        return await diary.DayAsync(id, wanted, viewer, cancel) is { } day
            ? Results.Ok(DayRouteJson.Of(day))
            : Refusal.NotFound("instructor").ToProblem();
    }
}
