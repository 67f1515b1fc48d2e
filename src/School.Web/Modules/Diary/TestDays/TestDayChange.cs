using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>One line of a test day's history: who changed what, when. Only ever added.</summary>
internal sealed class TestDayChange
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid TestDayId { get; init; }

    public required Instant At { get; init; }

    public required Guid ByPersonId { get; init; }

    public required string ByName { get; init; }

    public required string Words { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<TestDayChange>
    {
        public void Configure(EntityTypeBuilder<TestDayChange> entity)
        {
            entity.ToTable("test_day_changes", "diary");
            entity.Property(c => c.Id).ValueGeneratedNever();
            entity.HasIndex(c => c.TestDayId);
        }
    }
}
