using NodaTime;
using School.Core;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

/// <summary>
/// What a lesson costs that is booked today. <c>pence</c> is null where the school has no price for it or keeps no money here; <c>owedPence</c> and
/// <c>prepaidMinutes</c> are null where they are not for the caller to see.
/// </summary>
internal sealed record LessonPriceJson(long? Pence, long? OwedPence, int? PrepaidMinutes, string? Currency, string Sentence)
{
    public static LessonPriceJson Of(ToldPrice? told) =>
        told is null ? new(null, null, null, null, "The school keeps no money here for that day.") : new(told.Pence, told.OwedPence, told.PrepaidMinutes, told.Currency, told.Sentence);
}

internal static class PriceEndpoint
{
    public static void MapLessonPrice(this IEndpointRouteBuilder app) => app.MapApi("lessons")
        .MapGet("price", FindAsync).Needs(Permission.BookLessons).OfPupil(Sight.Everything, "pupilId", diary: true).WithName("GetLessonPrice")
        .WithSummary("What a lesson costs that is booked today, and what of it prepaid hours pay for.")
        .Produces<LessonPriceJson>().ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status404NotFound);

    private static async Task<IResult> FindAsync(
        Guid pupilId, Guid instructorId, [Moment] QueryDate start, [Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int minutes, QueryWord<LessonKind>? kind,
        PupilBook pupils, InstructorBook instructors, IEnumerable<ILessonPrices> prices, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil").ToProblem();
        }

        if (!viewer.Towards(pupilId).MayBookWith(instructorId) || await instructors.FindAsync(instructorId, cancel) is null)
        {
            return Refusal.NotFound("instructor").ToProblem();
        }

        if (minutes is < Lesson.ShortestMinutes or > Lesson.LongestMinutes)
        {
            return Refusal.Invalid(nameof(minutes), SlotFinder.LessonLength).ToProblem();
        }

        var lesson = new LessonToTell(pupilId, instructorId, pupil.Gearbox, kind?.Value ?? LessonKind.Standard, start.Start((await school.GetAsync(cancel)).Zone), minutes);
        ToldPrice? told = null;
        foreach (var price in prices)
        {
            told ??= await price.TellAsync(lesson, viewer, cancel);
        }

        return Results.Ok(LessonPriceJson.Of(told));
    }
}
