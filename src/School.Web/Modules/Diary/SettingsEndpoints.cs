using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>The booking rules on the wire; every member but the trainee's limit must be there.</summary>
internal sealed record SettingsBody
{
    public required int GridMinutes { get; init; }

    public required IReadOnlyList<int> LessonMinutes { get; init; }

    public required int BufferMinutes { get; init; }

    public required int NoticeToBookHours { get; init; }

    public required int NoticeToMoveHours { get; init; }

    public required int HorizonDays { get; init; }

    public required int RestAfterMinutes { get; init; }

    public required int RestMinutes { get; init; }

    public required int DailyTeachingMinutes { get; init; }

    public int? TraineeDailyTeachingMinutes { get; init; }

    public required bool FirstLegIsWork { get; init; }

    public required bool LastLegIsWork { get; init; }

    public required int MinimumAge { get; init; }

    public required int MinimumAgeWithMobilityAward { get; init; }

    public static SettingsBody Of(DiarySettings row) => new()
    {
        GridMinutes = row.GridMinutes,
        LessonMinutes = row.LessonMinutes,
        BufferMinutes = row.BufferMinutes,
        NoticeToBookHours = row.NoticeToBookHours,
        NoticeToMoveHours = row.NoticeToMoveHours,
        HorizonDays = row.HorizonDays,
        RestAfterMinutes = row.RestAfterMinutes,
        RestMinutes = row.RestMinutes,
        DailyTeachingMinutes = row.DailyTeachingMinutes,
        TraineeDailyTeachingMinutes = row.TraineeDailyTeachingMinutes,
        FirstLegIsWork = row.FirstLegIsWork,
        LastLegIsWork = row.LastLegIsWork,
        MinimumAge = row.MinimumAge,
        MinimumAgeWithMobilityAward = row.MinimumAgeWithMobilityAward,
    };

    public DiaryRules ToRules() => new()
    {
        GridMinutes = GridMinutes,
        LessonMinutes = LessonMinutes ?? [],
        BufferMinutes = BufferMinutes,
        NoticeToBookHours = NoticeToBookHours,
        NoticeToMoveHours = NoticeToMoveHours,
        HorizonDays = HorizonDays,
        RestAfterMinutes = RestAfterMinutes,
        RestMinutes = RestMinutes,
        DailyTeachingMinutes = DailyTeachingMinutes,
        TraineeDailyTeachingMinutes = TraineeDailyTeachingMinutes,
        FirstLegIsWork = FirstLegIsWork,
        LastLegIsWork = LastLegIsWork,
        MinimumAge = MinimumAge,
        MinimumAgeWithMobilityAward = MinimumAgeWithMobilityAward,
    };
}

internal static class SettingsEndpoints
{
    public static void MapDiarySettings(this IEndpointRouteBuilder app)
    {
        var settings = app.MapApi("diary/settings").WithTags("diary");
        settings.MapGet("", GetAsync).Needs(Permission.ManageSchool)
            .WithName("GetDiarySettings").WithSummary("The school's booking rules, with their ETag.").Produces<SettingsBody>();
        settings.MapPut("", SaveAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("SaveDiarySettings").WithSummary("Saves the booking rules. Wants If-Match.")
            .Produces<SettingsBody>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(HttpContext context, SchoolDb db, CancellationToken cancel)
    {
        var row = await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel);
        return ETags.Ok(context, row, SettingsBody.Of(row));
    }

    private static async Task<IResult> SaveAsync(SettingsBody body, HttpContext context, SaveDiarySettings save, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await save.RunAsync(body.ToRules(), ETags.Wanted(context), cancel)).ToRow(context, SettingsBody.Of);
}
