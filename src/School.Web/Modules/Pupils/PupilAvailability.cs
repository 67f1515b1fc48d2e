using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Pupils;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>One of the weekly times at which a pupil can have lessons. All times of a pupil change together with the pupil's version.</summary>
internal sealed class PupilAvailability
{
    public const int Most = 28;

    public Guid Id { get; init; } = RowId.New();

    public required Guid PupilId { get; init; }

    public required IsoDayOfWeek Day { get; init; }

    public required LocalTime From { get; init; }

    /// <summary>After the start, the same day.</summary>
    public required LocalTime To { get; init; }

    public AvailableTime ToTime() => new(Day, From, To);

    internal sealed class Configuration : IEntityTypeConfiguration<PupilAvailability>
    {
        public void Configure(EntityTypeBuilder<PupilAvailability> entity)
        {
            entity.ToTable("availability", "pupils", t => t.HasCheckConstraint("availability_end_after_start", "\"to\" > \"from\""));
            entity.Property(a => a.Id).ValueGeneratedNever();
            entity.HasOne<Pupil>().WithMany().HasForeignKey(a => a.PupilId).OnDelete(DeleteBehavior.Cascade);
        }
    }
}
