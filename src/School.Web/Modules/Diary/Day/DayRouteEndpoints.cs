using NodaTime;
using School.Core.Diary.Order;
using School.Core.Travel;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

internal sealed record LegJson(int Minutes, double Miles)
{
    public static LegJson Of(Leg leg) => new(leg.Minutes, Math.Round(leg.Miles, 2));
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
    public static DayRouteJson Of(DaySheet day, PupilNotes notes)
    {
        var lessons = day.Lessons.ToDictionary(l => l.Id);
        var tests = day.Tests.ToDictionary(t => t.Id);
        return new(
            day.Instructor.Id, day.Date, PlaceView.Of(day.Instructor.Base),
            [.. day.Route.Stops.Where(stop => lessons.ContainsKey(stop.Entry.Id)).Select(stop => Lesson(day, stop, lessons[stop.Entry.Id], notes))],
            day.Route.LatestDeparture, day.Route.LegHome is { } home ? LegJson.Of(home) : null, day.Route.HomeAt,
            day.Route.DrivingMinutes, Math.Round(day.Route.Miles, 2), day.Route.TaughtMinutes,
            [.. day.Route.Stops.Where(stop => tests.ContainsKey(stop.Entry.Id)).Select(stop => Test(day, stop, tests[stop.Entry.Id]))]);
    }

    private static StopJson Lesson(DaySheet day, RouteStop stop, Lesson lesson, PupilNotes notes)
    {
        var pupil = day.Context.Pupils[lesson.PupilId];
        return new(
            lesson.Id, pupil.Id, pupil.Name, lesson.CarId, lesson.StartsAt, lesson.EndsAt, PlaceView.Of(lesson.PickUp), PlaceView.Of(lesson.DropOff),
            LegJson.Of(stop.Leg), stop.Arrives, stop.SlackMinutes, stop.InTimeOff, pupil.Need, notes.LastNote.GetValueOrDefault(pupil.Id, ""),
            notes.FirstLessons.Contains(lesson.Id));
    }

    private static TestStopJson Test(DaySheet day, RouteStop stop, TestDay test) => new(
        test.Id, test.PupilId, day.Context.Pupils[test.PupilId].Name, test.CarId, test.BlockedFrom, test.BlockedUntil, test.StartsAt, PlaceView.Of(test.PickUp),
        PlaceView.Of(test.Centre), test.EndsAtPickUp, LegJson.Of(stop.Leg), stop.Arrives, stop.SlackMinutes);
}

internal static class DayRouteEndpoints
{
    public static void MapDayRoute(this IEndpointRouteBuilder app) => app.MapApi("instructors/{id:guid}/day").WithTags("instructors")
        .MapGet("{date}", GetAsync).Needs(Permission.DriveTheDay)
        .WithName("GetDayRoute").WithSummary("The day on the road: stops in order, the legs between, slack, lessons that lie in time off, and totals; own, or anybody's for the office.")
        .Produces<DayRouteJson>().ProducesProblem(400).ProducesProblem(404);

    private static async Task<IResult> GetAsync(Guid id, QueryDate date, DayReader reader, PupilNotesReader pupilNotes, SchoolInfo school, CancellationToken cancel)
    {
        var wanted = date.In((await school.GetAsync(cancel)).Zone);
        if (new FieldErrors().WrongYear(nameof(date), wanted).ToRefusal() is { } invalid)
        {
            return invalid.ToProblem();
        }

        if (await reader.WhoseAsync(id, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor").ToProblem();
        }

        var day = (await reader.DaysAsync(instructor.Id, wanted, wanted, cancel))[0];
        return Results.Ok(DayRouteJson.Of(day, await pupilNotes.ReadAsync(day.Lessons, cancel)));
    }
}
