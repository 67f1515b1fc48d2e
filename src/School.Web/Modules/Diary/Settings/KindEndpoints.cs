using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Settings;

/// <summary>A kind of lesson with the lengths that are on offer for it.</summary>
internal sealed record KindJson(LessonKind Kind, string Name, IReadOnlyList<int> Minutes, bool PupilsBook, bool PupilsSee, bool Offered)
{
    public static KindJson Of(DiaryRules rules, KindRule rule) =>
        new(rule.Kind, rule.Name, rules.LengthsOf(rule.Kind), rule.PupilsBook, rule.PupilsSee, rule.Offered);
}

internal sealed record KindsJson(IReadOnlyList<KindJson> Items)
{
    /// <summary>All for staff; for a pupil those that the school gives and shows.</summary>
    public static KindsJson Of(DiaryRules rules, Viewer viewer) => new([.. Enum.GetValues<LessonKind>().Select(rules.KindOf)
        .Where(rule => viewer.ArrangesLessons || (rule.Offered && rule.PupilsSee)).Select(rule => KindJson.Of(rules, rule))]);
}

internal static class KindEndpoints
{
    public static void MapLessonKinds(this IEndpointRouteBuilder app)
    {
        var kinds = app.MapApi("lesson-kinds").WithTags("lessons");
        kinds.MapGet("", ListAsync).Needs(Permission.SeeLessons)
            .WithName("ListLessonKinds").WithSummary("The kinds of lesson: what the school calls them, how long they last, who may book them. With the ETag of the booking rules.")
            .Produces<KindsJson>();
        kinds.MapPut("", SaveAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("SaveLessonKinds").WithSummary("Saves some kinds or all, all or nothing; 409 kind_has_lessons when one with lessons ahead would end and lessonsAheadStay is not said. Wants If-Match.")
            .Produces<KindsJson>().ProducesProblem(400).ProducesProblem(409).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(HttpContext context, SchoolDb db, Viewer viewer, CancellationToken cancel)
    {
        var row = await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel);
        return ETags.Ok(context, row, KindsJson.Of(row.Rules, viewer));
    }

    private static async Task<IResult> SaveAsync(KindsRequest body, HttpContext context, SaveLessonKinds save, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await save.RunAsync(viewer, body, ETags.Wanted(context), cancel)).ToRow(context, row => KindsJson.Of(row.Rules, viewer));
}
