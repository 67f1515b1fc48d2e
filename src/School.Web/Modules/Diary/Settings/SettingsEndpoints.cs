using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Settings;

internal static class SettingsEndpoints
{
    public static void MapDiarySettings(this IEndpointRouteBuilder app)
    {
        var settings = app.MapApi("diary/settings").WithTags("diary");
        settings.MapGet("", GetAsync).Needs(Permission.ManageSchool)
            .WithName("GetDiarySettings").WithSummary("The school's booking rules, with their ETag.").Produces<RulesInput>();
        settings.MapPut("", SaveAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("SaveDiarySettings").WithSummary("Saves the booking rules. Wants If-Match.")
            .Produces<RulesInput>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(HttpContext context, SchoolDb db, CancellationToken cancel)
    {
        var row = await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel);
        return ETags.Ok(context, row, RulesInput.Of(row.Rules));
    }

    private static async Task<IResult> SaveAsync(RulesInput body, HttpContext context, SaveDiarySettings save, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await save.RunAsync(viewer, body.ToRules(), ETags.Wanted(context), cancel)).ToRow(context, row => RulesInput.Of(row.Rules));
}
