using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>A place that a pupil named for themselves, such as home, school or work.</summary>
internal sealed class PupilPlace : Versioned
{
    public const int Most = 10;

    public required Guid PupilId { get; init; }

    public required Place At { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<PupilPlace>
    {
        public void Configure(EntityTypeBuilder<PupilPlace> entity)
        {
            entity.ToTable("places", "pupils");
            entity.ComplexProperty(p => p.At);
            entity.HasOne<Pupil>().WithMany().HasForeignKey(p => p.PupilId).OnDelete(DeleteBehavior.Cascade);
        }
    }
}
