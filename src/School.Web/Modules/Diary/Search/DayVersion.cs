using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Modules.Diary.Lessons;

namespace School.Web.Modules.Diary.Search;

/// <summary>
/// How often a day of somebody's diary has changed, counted by the database itself (see day-versions.sql), so that every node can tell
/// whether what it remembers still holds.
/// </summary>
internal sealed class DayVersion
{
    /// <summary>Stands for everything but lessons: rules, hours, time off, cars, instructors, travel.</summary>
    public static readonly Guid WholeSchool = Guid.Empty;

    /// <summary>Stands for what pupils are like: age, licence, gearbox, limits.</summary>
    public static readonly Guid Pupils = new("00000000-0000-0000-0000-000000000001");

    /// <summary>The day under which the whole school stands, and the pupils.</summary>
    public static readonly LocalDate Always = LessonStarts.FirstDate;

    /// <summary>An instructor, a car, a pupil on a test day, the pupils, or the whole school.</summary>
    public Guid Subject { get; private init; }

    /// <summary>In UTC, so that it does not depend on whose time zone data is newer.</summary>
    public LocalDate Day { get; private init; }

    /// <summary>Only ever rises, so that a sum of several is the same only when each is.</summary>
    public long Version { get; private init; }

    internal sealed class Configuration : IEntityTypeConfiguration<DayVersion>
    {
        public void Configure(EntityTypeBuilder<DayVersion> entity)
        {
            entity.ToTable("day_versions", "diary");
            entity.HasKey(v => new { v.Day, v.Subject });
        }
    }
}
