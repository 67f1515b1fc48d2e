using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Places;

internal enum PlaceKind
{
    /// <summary>Where practical tests begin.</summary>
    TestCentre,

    Station,

    /// <summary>A school or a college.</summary>
    School,

    Other,
}

/// <summary>A place that the school knows and anybody may choose.</summary>
internal sealed class SchoolPlace : Versioned
{
    public const int Most = 200;

    public required PlaceKind Kind { get; set; }

    public required Place At { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<SchoolPlace>
    {
        public void Configure(EntityTypeBuilder<SchoolPlace> entity)
        {
            entity.ToTable("school_places", "places");
            entity.ComplexProperty(p => p.At);
        }
    }
}
