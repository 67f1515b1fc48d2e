using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

internal sealed record ChangeJson(ChangeKind Kind, Instant At, string By, string Words, Instant? Start, Guid? InstructorId);

internal static class LessonEndpoints
{
    public static void MapLessons(this IEndpointRouteBuilder app)
    {
        var lessons = app.MapApi("lessons");
        lessons.MapGet("", ListAsync).Needs(Permission.ReadLessons)
            .WithName("ListLessons").WithSummary("Lessons by start; the dates are inclusive and about the start. Of pupils beside whom one stands: when and where, if they allow it.")
            .Produces<Page<LessonJson>>().ProducesProblem(400);
        lessons.MapPost("", BookAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("BookLesson").WithSummary("Books a lesson; 409 with other free times when the time is gone, 422 when a rule says no. Staff book while licence and date of birth are still to be seen and asked, which comes before driving; a pupil who books is asked first. 'gearbox' says in which, where that is still to be asked of the pupil and the instructor teaches in both.")
            .Produces<LessonJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        lessons.MapGet("{id:guid}", GetAsync).Needs(Permission.ReadLessons)
            .WithName("GetLesson").WithSummary("One lesson, with its ETag.").Produces<LessonJson>().ProducesProblem(404);
        lessons.MapGet("{id:guid}/history", HistoryAsync).Needs(Permission.SeeLessons)
            .WithName("GetLessonHistory").WithSummary("Who changed what, when; oldest first.").Produces<Page<ChangeJson>>().ProducesProblem(400).ProducesProblem(404);
        lessons.MapGet("{id:guid}/charge", ChargeAsync).Needs(Permission.BookLessons)
            .WithName("GetLessonCharge").WithSummary("What cancelling, moving or missing a lesson would come to now. Send its code along when you do it.")
            .Produces<LessonChargeJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        lessons.MapPost("{id:guid}/move", MoveAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("MoveLesson").WithSummary("Moves a booked lesson, keeping its length and places. If-Match is honoured when sent.")
            .Produces<LessonJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422);
        lessons.MapPost("{id:guid}/kind", ChangeKindAsync).Needs(Permission.RecordLessons).WithIdempotency()
            .WithName("ChangeLessonKind")
            .WithSummary("Makes a booked lesson another kind at its own time, with the minutes and breaks of that; the rules of booking are asked again. If-Match is honoured when sent.")
            .Produces<LessonJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422);
        lessons.MapPost("{id:guid}/cancel", CancelAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("CancelLesson").WithSummary("Cancels a booked lesson and decides whether it is charged; 422 charge_changed when that is not what charge says, lesson_begun for its pupil; 409 lesson_closed when it is booked no more. If-Match is honoured when sent.")
            .Produces<LessonJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422);
        lessons.MapPost("{id:guid}/missed", MissAsync).Needs(Permission.RecordLessons).WithIdempotency()
            .WithName("MissLesson").WithSummary("Records that the pupil was not there; 422 lesson_not_begun, too_soon_to_miss, lesson_cancelled, charge_changed. If-Match is honoured when sent.")
            .Produces<LessonJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422);
    }

    private static async Task<IResult> ListAsync(
        QueryDate? from, QueryDate? to, Guid? instructorId, Guid? pupilId, int? limit, string? cursor,
        LessonList list, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var errors = new FieldErrors().WrongYear(nameof(from), from?.In(zone)).WrongYear(nameof(to), to?.In(zone));
        errors.When(!errors.Any && from?.In(zone) > to?.In(zone), nameof(to), "The last date must not be before the first.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid.ToProblem();
        }

        var wanted = new LessonFilter(from?.Start(zone), to?.End(zone), instructorId, pupilId);
        return (await list.PageAsync(wanted, limit, cursor, viewer, cancel)).ToResult();
    }

    private static async Task<IResult> BookAsync(BookRequest request, HttpContext context, BookLesson book, Viewer viewer, CancellationToken cancel) =>
        (await book.RunAsync(viewer, request, cancel)).ToResult(
            lesson => ETags.Created(context, lesson, $"{ApiSetup.Prefix}/lessons/{lesson.Id}", LessonJson.Of(lesson, viewer)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, BesideBook beside, PastPlaces past, OwnPupils own, Viewer viewer, CancellationToken cancel)
    {
        if (await db.Set<Lesson>().AsNoTracking().ReadableBy(viewer, beside.WhoLetSee(viewer, SeenOfPupil.Lessons)).SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } lesson)
        {
            return Refusal.NotFound("lesson").ToProblem();
        }

        await past.VeilAsync(viewer, [lesson], cancel);
        var whole = LessonJson.ReadBy(lesson, viewer);
        var shown = (await own.WithoutRecordsAsync(viewer, [whole], cancel))[0];
        return shown == whole ? ETags.Ok(context, lesson, shown) : ETags.OkWithMore(context, lesson.Version, shown);
    }

    private static async Task<IResult> HistoryAsync(Guid id, int? limit, string? cursor, SchoolDb db, OwnPupils own, Viewer viewer, CancellationToken cancel)
    {
        if (await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } lesson)
        {
            return Refusal.NotFound("lesson").ToProblem();
        }

        var byName = viewer.KeepsDiary && lesson.InstructorId != viewer.InstructorId && await own.OfAsync(viewer, lesson.PupilId, cancel) == Sight.Name;
        var changes = await db.Set<LessonChange>().AsNoTracking().Where(c => c.LessonId == id).OrderBy(c => c.At).ThenBy(c => c.Id).ToListAsync(cancel);
        return changes.PageOf(limit, cursor, c => c.Id.ToString()).ToResult(page => Results.Ok(new Page<ChangeJson>(
            [.. page.Items.Select(c => new ChangeJson(c.Kind, c.At, c.ByName, byName ? c.WordsByName : c.Words, c.StartsAt, c.InstructorId))], page.Next)));
    }

    private static async Task<IResult> ChargeAsync(
        Guid id, QueryWord<ChargeAct> act, QueryWord<CancelReason>? reason, [Moment] QueryDate? start, bool? waive, TellCharge tell, SchoolInfo school, Viewer viewer, CancellationToken cancel) =>
        (await tell.RunAsync(viewer, id, new(act.Value, reason?.Value, start?.Start((await school.GetAsync(cancel)).Zone), waive ?? false), cancel)).ToResult(
            told => Results.Ok(LessonChargeJson.Beforehand(told.Charge, viewer, told.Amount)));

    private static async Task<IResult> MoveAsync(Guid id, MoveRequest request, HttpContext context, MoveLesson move, Viewer viewer, CancellationToken cancel) =>
        (await move.RunAsync(viewer, id, request, ETags.Wanted(context), cancel)).ToRow(context, lesson => LessonJson.Of(lesson, viewer));

    private static async Task<IResult> ChangeKindAsync(Guid id, ChangeKindRequest request, HttpContext context, ChangeLessonKind change, Viewer viewer, CancellationToken cancel) =>
        (await change.RunAsync(viewer, id, request, ETags.Wanted(context), cancel)).ToRow(context, lesson => LessonJson.Of(lesson, viewer));

    private static async Task<IResult> CancelAsync(Guid id, CancelRequest request, HttpContext context, CancelLesson cancelLesson, Viewer viewer, CancellationToken cancel) =>
        (await cancelLesson.RunAsync(viewer, id, request, ETags.Wanted(context), cancel)).ToRow(context, lesson => LessonJson.Of(lesson, viewer));

    private static async Task<IResult> MissAsync(Guid id, MissRequest? request, HttpContext context, MissLesson miss, Viewer viewer, CancellationToken cancel) =>
        (await miss.RunAsync(viewer, id, request ?? new(), ETags.Wanted(context), cancel)).ToRow(context, lesson => LessonJson.Of(lesson, viewer));
}
