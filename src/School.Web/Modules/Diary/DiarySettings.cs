using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Core.Diary;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>The school's booking rules; there is one row.</summary>
internal sealed class DiarySettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000002");

    public int GridMinutes { get; set; }

    public List<int> LessonMinutes { get; set; } = [];

    public int BufferMinutes { get; set; }

    public int NoticeToBookHours { get; set; }

    public int NoticeToMoveHours { get; set; }

    public int HorizonDays { get; set; }

    public int RestAfterMinutes { get; set; }

    public int RestMinutes { get; set; }

    public int DailyTeachingMinutes { get; set; }

    public int? TraineeDailyTeachingMinutes { get; set; }

    public bool FirstLegIsWork { get; set; }

    public bool LastLegIsWork { get; set; }

    public int MinimumAge { get; set; }

    public int MinimumAgeWithMobilityAward { get; set; }

    public static DiarySettings From(DiaryRules rules) => new DiarySettings { Id = Only }.Take(rules);

    public DiarySettings Take(DiaryRules rules)
    {
        GridMinutes = rules.GridMinutes;
        LessonMinutes = [.. rules.LessonMinutes];
        BufferMinutes = rules.BufferMinutes;
        NoticeToBookHours = rules.NoticeToBookHours;
        NoticeToMoveHours = rules.NoticeToMoveHours;
        HorizonDays = rules.HorizonDays;
        RestAfterMinutes = rules.RestAfterMinutes;
        RestMinutes = rules.RestMinutes;
        DailyTeachingMinutes = rules.DailyTeachingMinutes;
        TraineeDailyTeachingMinutes = rules.TraineeDailyTeachingMinutes;
        FirstLegIsWork = rules.FirstLegIsWork;
        LastLegIsWork = rules.LastLegIsWork;
        MinimumAge = rules.MinimumAge;
        MinimumAgeWithMobilityAward = rules.MinimumAgeWithMobilityAward;
        return this;
    }

    public DiaryRules ToRules() => new()
    {
        GridMinutes = GridMinutes,
        LessonMinutes = LessonMinutes,
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

    internal sealed class Configuration : IEntityTypeConfiguration<DiarySettings>
    {
        public void Configure(EntityTypeBuilder<DiarySettings> entity) => entity.ToTable("settings", "diary");
    }
}
