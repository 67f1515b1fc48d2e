using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Supervision;

/// <summary>How long one approved instructor sat in on a trainee's lessons of one day; there may be several on a day.</summary>
internal sealed class SupervisedDay : Versioned
{
    public const int MostMinutes = 720;
    public const int LongestName = 100;
    public const int LongestNumber = 12;

    /// <summary>The trainee.</summary>
    public required Guid InstructorId { get; init; }

    public required LocalDate Date { get; init; }

    public required int Minutes { get; set; }

    /// <summary>Who sat in, as the name and the number stood then.</summary>
    public required string ByName { get; set; }

    public required string ByNumber { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<SupervisedDay>
    {
        public void Configure(EntityTypeBuilder<SupervisedDay> entity)
        {
            entity.ToTable("supervised_days", "diary", t => t.HasCheckConstraint("supervised_days_minutes", $"minutes BETWEEN 1 AND {MostMinutes}"));
            // By the number on the certificate: names change, and two may share one.
            entity.HasIndex(d => new { d.InstructorId, d.Date, d.ByNumber }).IsUnique();
        }
    }
}
