using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Hours;

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
            // What is not over, of all that ever was.
            entity.HasIndex(o => o.EndsAt);
            entity.HasIndex(o => new { o.InstructorId, o.StartsAt });
        }
    }
}
