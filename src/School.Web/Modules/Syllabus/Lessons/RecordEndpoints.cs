using System.Globalization;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Lessons;

internal sealed record LevelJson(string Skill, string Name, SkillLevel Level, SkillLevel? Before);

/// <summary>The record of a lesson. The private note, the kind of route and the miles are for staff and null for the pupil.</summary>
internal sealed record LessonRecordJson(
    Guid LessonId, Guid PupilId, Guid InstructorId, Instant Start, LessonState State, int? MinutesTaught, string? Note, int Edition, IReadOnlyList<LevelJson> Levels,
    string? Aim, string? Reflection, Instant? ReflectedAt, string? PrivateNote, RouteKind? RouteKind, decimal? Miles)
{
    public static LessonRecordJson Of(RecordSheet sheet, Viewer viewer)
    {
        var (lesson, record) = (sheet.Lesson, sheet.IsTaught ? sheet.Record : null);
        var staff = viewer.Towards(lesson.PupilId).KeepsLearning ? record : null;
        return new(
            lesson.Id, lesson.PupilId, lesson.InstructorId, lesson.StartsAt, lesson.State, lesson.MinutesTaught, Text(lesson.Note), sheet.Edition.Number,
            [.. sheet.Levels.Select(line => new LevelJson(line.Skill, line.Name, line.Level, line.Before))],
            Text(record?.Aim), Text(record?.Reflection), record?.ReflectedAt, Text(staff?.PrivateNote), staff?.Route, staff?.Miles);
    }

    private static string? Text(string? text) => string.IsNullOrEmpty(text) ? null : text;
}

/// <summary>A record as somebody left it.</summary>
internal sealed record RecordChangeJson(Instant At, string By, RecordContent Content);

internal static class RecordEndpoints
{
    public static void MapLessonRecords(this IEndpointRouteBuilder app)
    {
        var lessons = app.MapApi("lessons");
        lessons.MapPut("{id:guid}/record", RecordAsync).Needs(Permission.RecordLessons).WithIdempotency()
            .WithName("RecordLesson").WithSummary("Records what was taught, or puts a record right: what is left out is left empty. Wants If-Match.")
            .Produces<LessonJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        lessons.MapGet("{id:guid}/record", GetAsync).Needs(Permission.SeeLearning)
            .OfPupil(Sight.ByReason, of: GateOf.Lesson).WithName("GetLessonRecord").WithSummary("What a lesson's record says, with the lesson's ETag: all of it for staff, the shared part for the pupil.")
            .Produces<LessonRecordJson>().ProducesProblem(404);
        lessons.MapGet("{id:guid}/record/changes", ChangesAsync).Needs(Permission.RecordLessons)
            .OfPupil(Sight.ByReason, of: GateOf.LessonGiven).WithName("GetLessonRecordChanges").WithSummary("Every state the record was left in, earliest first; the last is how it stands.")
            .Produces<Page<RecordChangeJson>>().ProducesProblem(400).ProducesProblem(404);
        lessons.MapPut("{id:guid}/reflection", ReflectAsync).Needs(Permission.SeeLearning).WithIdempotency()
            .WithName("ReflectOnLesson").WithSummary("Keeps the pupil's own words about a taught lesson; the lesson's ETag stays as it is. Wants If-Match.")
            .Produces<LessonRecordJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
    }

    private static async Task<IResult> RecordAsync(Guid id, RecordRequest request, HttpContext context, RecordLesson record, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await record.RunAsync(viewer, id, request, ETags.Wanted(context), cancel)).ToResult(
            lesson => ETags.Ok(context, lesson.Version, lesson.ToJson(viewer)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, RecordReader reader, Viewer viewer, CancellationToken cancel) =>
        await reader.FindToReadAsync(id, viewer, cancel) is { } sheet
            ? ETags.OkWithMore(context, sheet.Lesson.Version, LessonRecordJson.Of(sheet, viewer))
            : Refusal.NotFound("lesson").ToProblem();

    private static async Task<IResult> ChangesAsync(Guid id, int? limit, string? cursor, LessonRecording lessons, RecordHistory history, Viewer viewer, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, viewer, cancel) is null)
        {
            return Refusal.NotFound("lesson").ToProblem();
        }

        var states = await history.ReadAsync(id, cancel);
        return states.Select((state, n) => (n, Json: new RecordChangeJson(state.At, state.By, state.Content))).ToList()
            .PageOf(limit, cursor, state => state.n.ToString(CultureInfo.InvariantCulture))
            .ToResult(page => Results.Ok(new Page<RecordChangeJson>([.. page.Items.Select(state => state.Json)], page.Next)));
    }

    private static async Task<IResult> ReflectAsync(
        Guid id, ReflectionRequest request, HttpContext context, ReflectOnLesson reflect, RecordReader reader, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var outcome = await reflect.RunAsync(viewer, id, request, ETags.Wanted(context), cancel);
        return outcome.Ok ? await GetAsync(id, context, reader, viewer, cancel) : outcome.Refusal.ToProblem();
    }
}
