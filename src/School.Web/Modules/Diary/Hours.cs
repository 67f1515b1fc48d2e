using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Diary;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary;

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

/// <summary>Time in which an instructor does not teach.</summary>
internal sealed class TimeOffRow : Versioned
{
    public required Guid InstructorId { get; init; }

    public required Instant StartsAt { get; set; }

    public required Instant EndsAt { get; set; }

    public required string Reason { get; set; }

    /// <summary>The local days it touches, in words.</summary>
    public string Days(DateTimeZone zone)
    {
        var (first, last) = (StartsAt.InZone(zone).Date, EndsAt.InZone(zone).Date);
        return first == last ? ScreenWords.DayAndYear(first) : $"{ScreenWords.DayAndYear(first)} to {ScreenWords.DayAndYear(last)}";
    }

    internal sealed class Configuration : IEntityTypeConfiguration<TimeOffRow>
    {
        public void Configure(EntityTypeBuilder<TimeOffRow> entity)
        {
            entity.ToTable("time_off", "diary", t => t.HasCheckConstraint("time_off_end_after_start", "ends_at > starts_at"));
            entity.HasIndex(o => new { o.InstructorId, o.StartsAt });
        }
    }
}

/// <summary>A public holiday of the school's nation; the list is the school's to edit.</summary>
internal sealed class Holiday
{
    public required string Nation { get; init; }

    public required LocalDate Date { get; init; }

    public required string Name { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Holiday>
    {
        public void Configure(EntityTypeBuilder<Holiday> entity)
        {
            entity.ToTable("holidays", "diary");
            entity.HasKey(h => new { h.Nation, h.Date }).HasName("holidays_once");
        }
    }
}
