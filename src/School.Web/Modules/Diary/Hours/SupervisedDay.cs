using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Hours;

/// <summary>How long the sponsor sat in on a trainee's lessons of one day.</summary>
internal sealed class SupervisedDay : Versioned
{
    public const int Most = 720;
    public const int LongestName = 100;

    /// <summary>The trainee.</summary>
    public required Guid InstructorId { get; init; }

    public required LocalDate Date { get; init; }

    public int Minutes { get; set; }

    /// <summary>The approved instructor who sat in.</summary>
    public required string By { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<SupervisedDay>
    {
        public void Configure(EntityTypeBuilder<SupervisedDay> entity)
        {
            entity.ToTable("supervised_days", "diary", t => t.HasCheckConstraint("supervised_days_minutes", $"minutes BETWEEN 1 AND {Most}"));
            entity.HasIndex(d => new { d.InstructorId, d.Date }).IsUnique();
        }
    }
}
