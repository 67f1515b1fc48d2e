using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

internal sealed class Pupil : Versioned
{
    public required string Name { get; set; }

    public required string Email { get; set; }

    /// <summary>E.164.</summary>
    public required string Phone { get; set; }

    public required LocalDate BirthDate { get; set; }

    /// <summary>Receives, or has applied for, the enhanced rate of the mobility part: may learn from 16.</summary>
    public bool MobilityAward { get; set; }

    public required Gearbox Gearbox { get; set; }

    public LocalDate? ProvisionalFrom { get; set; }

    /// <summary>Encrypted; opened only through the audited read.</summary>
    public string? DriverNumberSealed { get; set; }

    public LocalDate? EyesightCheckedOn { get; set; }

    public Guid? EyesightCheckedBy { get; set; }

    public required Place PickUp { get; set; }

    public Guid? UsualInstructorId { get; set; }

    /// <summary>Most lesson minutes in a Monday-to-Sunday week; no limit when null.</summary>
    public int? WeeklyMinutes { get; set; }

    public required int LessonMinutes { get; set; }

    public bool NeedsDualControls { get; set; } = true;

    public string EmergencyName { get; set; } = "";

    public string EmergencyPhone { get; set; } = "";

    /// <summary>One line for the instructor's strip: what this pupil needs next.</summary>
    public string Need { get; set; } = "";

    public string Notes { get; set; } = "";

    /// <summary>Encrypted; opened only through the audited read.</summary>
    public string? HealthNotesSealed { get; set; }

    public LocalDate? RetiredOn { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Pupil>
    {
        public void Configure(EntityTypeBuilder<Pupil> entity)
        {
            entity.ToTable("pupils", "pupils");
            entity.ComplexProperty(p => p.PickUp);
            entity.HasIndex(p => p.UsualInstructorId);
            entity.HasIndex(p => p.Name);
        }
    }
}
