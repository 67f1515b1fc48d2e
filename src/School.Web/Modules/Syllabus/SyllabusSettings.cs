using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Core.Syllabus;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

/// <summary>The school's own numbers about learning; there is one row.</summary>
internal sealed class SyllabusSettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000004");

    /// <summary>Days without practice after which a started skill is looked at again.</summary>
    public int StaleDays { get; set; } = NextSkills.UsualStaleDays;

    /// <summary>How much an hour of private practice counts against an hour of lessons, in hundredths: common practice, no source.</summary>
    public int PracticeWeight { get; set; } = 50;

    internal sealed class Configuration : IEntityTypeConfiguration<SyllabusSettings>
    {
        public void Configure(EntityTypeBuilder<SyllabusSettings> entity)
        {
            entity.ToTable("settings", "syllabus", t =>
            {
                t.HasCheckConstraint("syllabus_stale_days", "stale_days BETWEEN 7 AND 365");
                t.HasCheckConstraint("syllabus_practice_weight", "practice_weight BETWEEN 0 AND 100");
            });
            entity.HasKey(s => s.Id).HasName("pk_syllabus_settings");
        }
    }
}
