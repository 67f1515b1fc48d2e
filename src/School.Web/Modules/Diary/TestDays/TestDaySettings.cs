using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Core;
using School.Core.Diary.TestDays;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>The school's numbers for test days; there is one row.</summary>
internal sealed class TestDaySettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000003");

    /// <summary>Kept free before the test: the way there and a warm-up drive. Common practice, no source.</summary>
    public int LeadMinutes { get; set; } = 60;

    public int TestMinutes { get; set; } = PracticalTest.Minutes;

    public int ExtendedMinutes { get; set; } = PracticalTest.ExtendedMinutes;

    /// <summary>Kept free after the test for a word about it. Common practice, no source.</summary>
    public int TailMinutes { get; set; } = 20;

    public int NoticeDays { get; set; } = PracticalTest.NoticeDays;

    public int RetestDays { get; set; } = PracticalTest.RetestDays;

    public int MinutesOf(bool extended) => extended ? ExtendedMinutes : TestMinutes;

    internal sealed class Configuration : IEntityTypeConfiguration<TestDaySettings>
    {
        public void Configure(EntityTypeBuilder<TestDaySettings> entity)
        {
            entity.ToTable("test_day_settings", "diary");
            // Schools that were there before it.
            entity.Property(s => s.ExtendedMinutes).HasDefaultValue(PracticalTest.ExtendedMinutes);
        }
    }
}

internal sealed class TestDayDefaults : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<TestDaySettings>().AnyAsync(cancel))
        {
            db.Add(new TestDaySettings { Id = TestDaySettings.Only });
        }
    }
}

/// <summary>The numbers on the wire.</summary>
internal sealed record TestDaySettingsBody
{
    [Between(0, TestDay.MostAround)]
    public required int LeadMinutes { get; init; }

    [Between(SaveTestDaySettings.ShortestTest, SaveTestDaySettings.LongestTest)]
    public required int TestMinutes { get; init; }

    [Between(SaveTestDaySettings.ShortestTest, SaveTestDaySettings.LongestTest)]
    public int ExtendedMinutes { get; init; } = PracticalTest.ExtendedMinutes;

    [Between(0, TestDay.MostAround)]
    public required int TailMinutes { get; init; }

    [Between(0, SaveTestDaySettings.MostDays)]
    public required int NoticeDays { get; init; }

    [Between(1, SaveTestDaySettings.MostDays)]
    public required int RetestDays { get; init; }

    public static TestDaySettingsBody Of(TestDaySettings row) => new()
    {
        LeadMinutes = row.LeadMinutes,
        TestMinutes = row.TestMinutes,
        ExtendedMinutes = row.ExtendedMinutes,
        TailMinutes = row.TailMinutes,
        NoticeDays = row.NoticeDays,
        RetestDays = row.RetestDays,
    };
}

/// <summary>Saves the numbers for test days. Days entered already keep the times they were entered with.</summary>
internal sealed class SaveTestDaySettings(SchoolDb db, Audit audit)
{
    public const int ShortestTest = 10;
    public const int LongestTest = 180;
    public const int MostDays = 60;

    public Task<Outcome<TestDaySettings>> RunAsync(Viewer viewer, TestDaySettingsBody body, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<TestDaySettings>(
            async cancel =>
            {
                var around = $"From 0 to {TestDay.MostAround} minutes.";
                var errors = new FieldErrors()
                    .When(body.LeadMinutes is < 0 or > TestDay.MostAround, nameof(body.LeadMinutes), around)
                    .When(body.TailMinutes is < 0 or > TestDay.MostAround, nameof(body.TailMinutes), around)
                    .When(body.TestMinutes is < ShortestTest or > LongestTest, nameof(body.TestMinutes), $"From {ShortestTest} to {LongestTest} minutes.")
                    .When(
                        body.ExtendedMinutes is < ShortestTest or > LongestTest, nameof(body.ExtendedMinutes), $"From {ShortestTest} to {LongestTest} minutes.")
                    .When(body.NoticeDays is < 0 or > MostDays, nameof(body.NoticeDays), $"From 0 to {MostDays} working days.")
                    .When(body.RetestDays is < 1 or > MostDays, nameof(body.RetestDays), $"From 1 to {MostDays} working days.");
                if (errors.ToRefusal() is { } invalid)
                {
                    return invalid;
                }

                var taken = await db.Set<TestDaySettings>().TakeAsync(TestDaySettings.Only, expected, "setting", cancel);
                if (taken is not { Value: { } row })
                {
                    return taken;
                }

                (row.LeadMinutes, row.TestMinutes, row.TailMinutes) = (body.LeadMinutes, body.TestMinutes, body.TailMinutes);
                (row.ExtendedMinutes, row.NoticeDays, row.RetestDays) = (body.ExtendedMinutes, body.NoticeDays, body.RetestDays);
                audit.NoteValues(viewer, "test_days.change", null, "Changed the numbers for test days", row);
                return row;
            },
            cancel);
}
