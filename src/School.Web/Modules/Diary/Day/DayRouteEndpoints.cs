using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Travel;
using School.Web.Modules.Diary.Contracts;
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

internal enum StopKind
{
    Lesson,
    Test,
}

/// <summary>
/// A stop in order of the day. Of a test it is the time kept, within it the test, and the way ends at the pick-up or the centre; what only a
/// lesson or only a test has is null for the other.
/// </summary>
internal sealed record StopJson(
    StopKind Kind, Guid? LessonId, Guid? TestDayId, Guid PupilId, string PupilName, Guid? CarId, Instant Start, Instant End, PlaceView PickUp, PlaceView DropOff, LegJson? Leg,
    Instant? Arrives, int? SlackMinutes, bool? InTimeOff, string? Need, string? LastNote, bool? FirstLesson, Instant? TestStart, PlaceView? Centre, bool? EndsAtPickUp,
    LessonKind? LessonKind, int? Minutes, IReadOnlyList<BreakJson>? Breaks)
{
    public static StopJson Of(DaySheet day, RouteStop stop, bool told, Lesson lesson, PupilNotes notes)
    {
        var pupil = day.Context.Pupils[lesson.PupilId];
        return new(
            StopKind.Lesson, lesson.Id, null, pupil.Id, pupil.Name, lesson.CarId, lesson.StartsAt, lesson.EndsAt, PlaceView.Of(lesson.PickUp),
            PlaceView.Of(lesson.DropOff), told ? LegJson.Of(stop.Leg) : null, told ? stop.Arrives : null, told ? stop.SlackMinutes : null, stop.InTimeOff, pupil.Need,
            pupil.NameOnly ? "" : notes.LastNote.GetValueOrDefault(pupil.Id, ""), notes.FirstLessons.Contains(lesson.Id), null, null, null, lesson.Kind, lesson.Minutes,
            BreakJson.Of(lesson.StartsAt, lesson.Breaks));
    }

    public static StopJson Of(DaySheet day, RouteStop stop, bool told, TestDay test) => new(
        StopKind.Test, null, test.Id, test.PupilId, day.Context.Pupils[test.PupilId].Name, test.CarId, test.BlockedFrom, test.BlockedUntil, PlaceView.Of(test.PickUp),
        PlaceView.Of(test.EndsAtPickUp ? test.PickUp : test.Centre), told ? LegJson.Of(stop.Leg) : null, told ? stop.Arrives : null, told ? stop.SlackMinutes : null, null, null, null, null,
        test.StartsAt, PlaceView.Of(test.Centre), test.EndsAtPickUp, null, null, null);
}

internal sealed record DayRouteJson(
    Guid InstructorId, LocalDate Date, PlaceView? Base, IReadOnlyList<StopJson> Stops, Instant? LatestDeparture, LegJson? LegHome, Instant? HomeAt,
    int DrivingMinutes, double Miles, int TaughtMinutes)
{
    public static DayRouteJson Of(DaySheet day, PupilNotes notes)
    {
        var lessons = day.Lessons.ToDictionary(l => l.Id);
        var tests = day.Tests.ToDictionary(t => t.Id);
        var drives = ToldDrives.Of(day);
        var untold = drives.Untold();
        return new(
            day.Instructor.Id, day.Date, PlaceView.Known(day.Instructor.Base),
            [
                .. from at in Enumerable.Range(0, day.Route.Stops.Count)
                   let stop = day.Route.Stops[at]
                   let shown = lessons.TryGetValue(stop.Entry.Id, out var lesson) ? StopJson.Of(day, stop, drives.To(at), lesson, notes)
                       : tests.TryGetValue(stop.Entry.Id, out var test) ? StopJson.Of(day, stop, drives.To(at), test) : null
                   where shown is not null
                   select shown,
            ],
            day.Route.Stops.Count > 0 && drives.To(0) ? day.Route.LatestDeparture : null, drives.Home && day.Route.LegHome is { } home ? LegJson.Of(home) : null,
            drives.Home ? day.Route.HomeAt : null, day.Route.DrivingMinutes - untold.Minutes, Math.Round(day.Route.Miles - untold.Miles, 2), day.Route.TaughtMinutes);
    }
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

        if (await reader.WhoseDayAsync(id, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor").ToProblem();
        }

        var day = (await reader.DaysAsync(instructor.Id, wanted, wanted, cancel))[0];
        return Results.Ok(DayRouteJson.Of(day, await pupilNotes.ReadAsync(day.Lessons, cancel)));
    }
}
