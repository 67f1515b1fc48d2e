using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places;

/// <summary>A part of where the school teaches: some postcode districts under a name of its own.</summary>
internal sealed class Area : Versioned
{
    public const int LongestName = 60;
    public const int MostDistricts = 200;

    public required string Name { get; set; }

    public List<AreaDistrict> Districts { get; init; } = [];

    internal sealed class Configuration : IEntityTypeConfiguration<Area>
    {
        public void Configure(EntityTypeBuilder<Area> entity)
        {
            entity.ToTable("areas", "places");
            entity.HasIndex(a => a.Name).IsUnique().HasDatabaseName("areas_name_once");
            entity.HasMany(a => a.Districts).WithOne().HasForeignKey(d => d.AreaId).OnDelete(DeleteBehavior.Cascade);
        }
    }
}

/// <summary>A district of an area; in one area at most, so that a place lies in one at most.</summary>
internal sealed class AreaDistrict
{
    public required string District { get; init; }

    public required Guid AreaId { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<AreaDistrict>
    {
        public void Configure(EntityTypeBuilder<AreaDistrict> entity)
        {
            entity.ToTable("area_districts", "places");
            entity.HasKey(d => d.District).HasName("area_districts_once");
        }
    }
}
