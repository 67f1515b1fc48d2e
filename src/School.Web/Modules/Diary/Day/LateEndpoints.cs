using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.Day;

/// <summary>How late; a preview unless confirmed. At is the moment that the preview gave, so that what was shown is what is told. NotBegun says that the lesson
/// which is on by the clock has not begun: then it is that one which starts so late, and its pupil is told. Begun says that the lesson whose pupil was told that it
/// starts later has begun all the same: then the minutes count from its end.</summary>
internal sealed record LateRequest([property: Between(1, TellLate.MostMinutes)] int Minutes, bool Confirm = false, Instant? At = null, bool NotBegun = false, bool Begun = false);

/// <summary>Where the drive is not told, because a place is still to be found, the lesson is taken to be as late as what goes before it. HasAddress: where it is false no letter goes, so ring the pupil.</summary>
internal sealed record LateLessonJson(
    Guid LessonId, Guid PupilId, string PupilName, Instant Start, Instant NowAbout, Instant EndsAbout, int LateMinutes, int AbsorbedMinutes,
    int? ToldMinutes, bool News, bool DriveTold, bool HasAddress);

/// <summary>OnLessonId is the lesson that is on: the minutes count from its end. Null: they count from the next start.</summary>
internal sealed record LateJson(
    Guid InstructorId, LocalDate Date, int Minutes, Instant At, bool Told, IReadOnlyList<LateLessonJson> Lessons, Instant? HomeAt, Guid? OnLessonId)
{
    public static LateJson Of(LateAnswer answer, bool told) => new(
        answer.Instructor.Id, answer.Question.Date, answer.Question.Minutes, answer.At, told,
        [.. answer.Lessons.Select(l => new LateLessonJson(
            l.Lesson.Id, l.Pupil.Id, l.Pupil.Name, l.Lesson.StartsAt, l.Stop.Starts, l.Stop.Ends, l.LateMinutes, l.Stop.AbsorbedMinutes, l.ToldMinutes, l.IsNews, l.Stop.DriveIsKnown, l.HasAddress))],
        answer.HomeAt, answer.On?.Lesson?.Id);
}

internal static class LateEndpoints
{
    public static void MapRunningLate(this IEndpointRouteBuilder app) => app.MapApi("instructors/{id:guid}/day/{date}/late").WithTags("instructors")
        .MapPost("", PostAsync).Needs(Permission.DriveTheDay).WithIdempotency()
        .WithName("RunLate").WithSummary("What running late by some minutes does to the rest of today; with confirm, tells the pupils for whom that is news.")
        .Produces<LateJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);

    private static async Task<IResult> PostAsync(
        Guid id, QueryDate date, LateRequest request, TellLate tell, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var question = new LateQuestion(id, date.In((await school.GetAsync(cancel)).Zone), request.Minutes, request.At, request.NotBegun, request.Begun);
        var answer = request.Confirm ? await tell.RunAsync(viewer, question, cancel) : await tell.PreviewAsync(viewer, question, cancel);
        return answer.ToResult(done => Results.Ok(LateJson.Of(done, request.Confirm)));
    }
}
