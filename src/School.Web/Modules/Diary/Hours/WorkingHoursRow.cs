using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Diary.Time;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Local working hours of an instructor on one weekday, between dates. Several a day make a split shift.</summary>
internal sealed class WorkingHoursRow : Versioned
{
    public required Guid InstructorId { get; init; }

    public required IsoDayOfWeek Day { get; set; }

    public required LocalTime Start { get; set; }

    /// <summary>After the start, the same day.</summary>
    public required LocalTime End { get; set; }

    public required LocalDate From { get; set; }

    /// <summary>Last day, inclusive; none while they go on.</summary>
    public LocalDate? To { get; set; }

    public WorkingHours ToHours() => new(Day, Start, End, From, To);

    internal sealed class Configuration : IEntityTypeConfiguration<WorkingHoursRow>
    {
        public void Configure(EntityTypeBuilder<WorkingHoursRow> entity)
        {
            entity.ToTable("working_hours", "diary", t =>
            {
                t.HasCheckConstraint("working_hours_end_after_start", "\"end\" > start");
                t.HasCheckConstraint("working_hours_dates", "\"to\" IS NULL OR \"to\" >= \"from\"");
            });
            entity.HasIndex(h => h.InstructorId);
        }
    }
}
