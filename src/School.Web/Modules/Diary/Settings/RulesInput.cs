using Microsoft.AspNetCore.Mvc;
using School.Core.Diary;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Settings;

/// <summary>The booking rules as a form or the API sends them; every member but the trainee's limit and what is said about areas must be there.</summary>
[BoundedLike(typeof(DiaryRules))]
internal sealed record RulesInput
{
    public required int GridMinutes { get; init; }

    [ModelBinder(typeof(MinutesListBinder))]
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

    /// <summary>Left out: as false.</summary>
    public bool OnlyInServedAreas { get; init; }

    /// <summary>Left out: never.</summary>
    public LateTelling TellsLate { get; init; }

    /// <summary>Left out or empty: the phone's own map.</summary>
    public string? MapLink { get; init; }

    public required int MinimumAge { get; init; }

    public required int MinimumAgeWithMobilityAward { get; init; }

    public static RulesInput Of(DiaryRules rules) => new()
    {
        GridMinutes = rules.GridMinutes,
        LessonMinutes = rules.LessonMinutes,
        BufferMinutes = rules.BufferMinutes,
        NoticeToBookHours = rules.NoticeToBookHours,
        NoticeToMoveHours = rules.NoticeToMoveHours,
        HorizonDays = rules.HorizonDays,
        RestAfterMinutes = rules.RestAfterMinutes,
        RestMinutes = rules.RestMinutes,
        DailyTeachingMinutes = rules.DailyTeachingMinutes,
        TraineeDailyTeachingMinutes = rules.TraineeDailyTeachingMinutes,
        FirstLegIsWork = rules.FirstLegIsWork,
        LastLegIsWork = rules.LastLegIsWork,
        OnlyInServedAreas = rules.OnlyInServedAreas,
        TellsLate = rules.TellsLate,
        MapLink = rules.MapLink,
        MinimumAge = rules.MinimumAge,
        MinimumAgeWithMobilityAward = rules.MinimumAgeWithMobilityAward,
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
        OnlyInServedAreas = OnlyInServedAreas,
        TellsLate = TellsLate,
        MapLink = MapLink?.Trim() ?? "",
        MinimumAge = MinimumAge,
        MinimumAgeWithMobilityAward = MinimumAgeWithMobilityAward,
    };
}
