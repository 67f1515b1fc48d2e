using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Pupils;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What was asked for last time.</summary>
internal sealed record AskedJson(Guid LessonId, LocalDate On, string? Note, string? Aim, string? Reflection);

/// <summary>A suggested skill: why, and for staff the key points to explain.</summary>
internal sealed record SuggestedJson(
    string Skill, string Name, PlanReason Why, SkillLevel? Level, SkillLevel? Before, string? Aim, IReadOnlyList<string> Plain, IReadOnlyList<SkillPoint>? Explain);

internal sealed record BlockJson(string Code, string Sentence, bool Stops);

/// <summary>The brief of a lesson. What only an instructor teaches from is null for the pupil.</summary>
internal sealed record BriefJson(
    Guid LessonId, Guid PupilId, Guid InstructorId, LessonKind Kind, Instant Start, Instant End, int Minutes, IReadOnlyList<BreakJson> Breaks, PlaceView PickUp, PlaceView DropOff, string Car, Gearbox Gearbox, bool FirstLesson,
    AskedJson? Asked, IReadOnlyList<SuggestedJson> Suggested, IReadOnlyList<SkillPoint>? GearboxPoints, IReadOnlyList<SkillPoint>? SafetyPoints,
    IReadOnlyList<BlockJson> Blocks, bool? HasHealthNotes, IReadOnlyList<string> BeforeDriving)
{
    public static BriefJson Of(LessonBrief brief, Viewer viewer)
    {
        viewer = viewer.Towards(brief.Lesson.PupilId);
        var (lesson, staff) = (brief.Lesson, viewer.ArrangesLessons);
        return new(
            lesson.Id, lesson.PupilId, lesson.InstructorId, lesson.Kind, lesson.StartsAt, lesson.EndsAt, lesson.Minutes, BreakJson.Of(lesson.StartsAt, lesson.Breaks), PlaceView.Of(lesson.PickUp), PlaceView.Of(lesson.DropOff),
            brief.Car.Label, brief.Car.Facts.Gearbox, brief.IsFirst,
            brief.Asked is { } asked ? new(asked.Lesson.Id, asked.On, Text(asked.Lesson.Note), Text(asked.Record?.Aim), Text(asked.Record?.Reflection)) : null,
            [.. brief.Suggested.Select(planned => Skill(planned, staff))],
            staff ? brief.GearboxPoints : null, staff ? brief.SafetyPoints : null,
            [
                .. brief.Cautions.Blocks.Select(block => new BlockJson(block.Code, block.Telling.For(viewer.Reader), block.Stops)),
                .. brief.Plan.NotOnMotorway is { } problem ? [new(problem.Code, problem.Sentence, false)] : Array.Empty<BlockJson>(),
            ],
            staff ? brief.Cautions.HasHealthNotes : null, brief.Cautions.BeforeDriving.Names());
    }

    private static SuggestedJson Skill(PlannedSkill planned, bool staff) => new(
        planned.Skill.Key, planned.Skill.Name, planned.Reason, planned.Standing?.Level, planned.Standing?.Before, Text(planned.Skill.Aim), planned.Skill.Plain,
        staff ? [.. LessonBrief.KeyPoints(planned.Skill)] : null);

    private static string? Text(string? text) => string.IsNullOrEmpty(text) ? null : text;
}

internal static class BriefEndpoints
{
    public static void MapLessonBriefs(this IEndpointRouteBuilder app)
    {
        app.MapApi("lessons").MapGet("{id:guid}/brief", GetAsync).Needs(Permission.SeeLearning)
            .OfPupil(Sight.ByReason, of: GateOf.LessonGiven).WithName("GetLessonBrief").WithSummary("What to know before a lesson; for its pupil the plain version. 'beforeDriving' names what must be seen and asked before the wheels turn: licence, birthDate.").Produces<BriefJson>().ProducesProblem(404);
        var settings = app.MapApi("evening-briefs/settings").WithTags("lessons");
        settings.MapGet("", SettingsAsync).Needs(Permission.ManageSchool)
            .WithName("GetEveningBriefSettings").WithSummary("At which local hour pupils are sent their brief the evening before, with its ETag; null for never.")
            .Produces<BriefSettingsBody>();
        settings.MapPut("", SaveAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("SaveEveningBriefSettings").WithSummary("Changes that hour. Wants If-Match.")
            .Produces<BriefSettingsBody>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(Guid id, BriefReader reader, Viewer viewer, CancellationToken cancel) =>
        await reader.FindAsync(id, viewer, cancel) is { } brief ? Results.Ok(BriefJson.Of(brief, viewer)) : Refusal.NotFound("lesson").ToProblem();

    private static async Task<IResult> SettingsAsync(HttpContext context, BriefSettingsBook settings, CancellationToken cancel)
    {
        var row = await settings.ReadAsync(cancel);
        return ETags.Ok(context, row, BriefSettingsBody.Of(row));
    }

    private static async Task<IResult> SaveAsync(BriefSettingsBody body, HttpContext context, ChangeBriefSettings change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, body, ETags.Wanted(context), cancel)).ToRow(context, BriefSettingsBody.Of);
}
